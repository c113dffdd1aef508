"""A key with nothing after it.

A key that need not be there may be left out; written with nothing after the colon it looks as if something were said,
and nothing is. Often the text was lost: it began with a `#`, or stands on the next line and is not indented. What
examples answer is left alone: there `~` takes back what is usual.

Wrong:

    steps:
      - step: measure
        do: Measure from plate to hoop.
        why:
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    4:5: nothing stands after 'why:'; write it, or take the key out [empty]

Right:

    steps:
      - step: measure
        do: Measure from plate to hoop.
        why: A gap read with the lever off hides what the set does when it plays.
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Iterator

from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ..findable import key_place
from ..leaves import leaves

ID = "empty"


def check(linked: Linked) -> Iterator[Finding]:
    """One finding for each key with nothing after it."""
    for path, text in leaves(linked):
        if text is None and path and isinstance(path[-1], str) and path[-2:-1] != ("allow",):  # the rule `allow` tells
            message = f"nothing stands after '{path[-1]}:'; write it, or take the key out"
            yield Finding(ID, message, key_place(linked, path))
