"""Settling the names of a procedure: from what an author wrote to a `Linked` procedure and findings.

Each part is settled on its own, so that one mistake hides no other.
"""

from __future__ import annotations

from .collector import collector_rests
from .link_data import link_data
from .link_steps import link_runs, link_steps
from .link_sums import link_sums
from .link_ways import link_ways
from .link_words import link_findings, link_words
from .linked import Find, Linked, Worked
from .source import Source


@collector_rests()
def link(source: Source, find: Find, above: tuple[str, ...] = (), *, before: Worked | None = None) -> Linked | None:
    """The procedure of `source` with its names settled, its own findings first; None where nothing could be read.

    `find` gives the linked procedure of an id (None: the library has none); `above` are the ids being linked
    already, for a procedure must not come to run itself; `before` is what was worked out of an earlier text of it.
    """
    if source.procedure is None:
        return None
    linked = Linked(source, source.procedure, source.text_hash, source.content_hash, findings=list(source.findings))
    linked.goes_on(before)
    link_steps(linked)
    link_runs(linked, find, above)
    link_data(linked)
    link_sums(linked)
    link_ways(linked)
    link_findings(linked)
    link_words(linked)
    return linked
