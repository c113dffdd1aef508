"""The rules whose findings can be advice: what `allow` may silence. A test holds this list and the rules alike."""

from __future__ import annotations

from .yaml_table import ADVICE as _TRAPS

ADVICE = frozenset(
    (
        *("condition-last", "coverage", "event-run", "example", "grade", "hazard", "hidden-action", "idle-branch"),
        *(
            "file-name",
            "many-conditions",
            "one-action",
            "possible",
            "reads-otherwise",
            "refused",
            "releasable",
            "too-long",
            "typed-word",
            "unknown-proposal",
        ),
        *("unused", "unwalked", "vague", "wanted", *_TRAPS),
    )
)
