"""A silence that silences nothing, gives no reason, or names no rule.

`allow: {RULE: why}` silences the advice of a rule: in a step, a reading or a finding for what stands there, at the top
for the whole file. The reason is read by whoever looks at the procedure next. A silence with no advice to silence is
advice itself: what it was written for is gone, and it would hide the next one. Without a reason, or with the name of a
rule there is not, it is an error. Errors cannot be silenced, nor can this rule.

Wrong:

    steps:
      - step: tie
        do: Tie the cord again.
        allow:
          too-long: It stood here before
          to-long: The sentence is needed whole
          vague:
          endless: It comes to an end some day
      - step: hand-back
        do: Put the drum out for its owner.
        end: done

Says:

    5:7: no advice of 'too-long' is given here, so nothing is silenced; take the silence out [allow]
    6:7: there is no rule 'to-long'; did you mean 'too-long'? [allow]
    7:7: 'vague' is silenced without a reason; write why it may stand, as in vague: "the reason" [allow]
    8:7: 'endless' only tells errors, and errors cannot be silenced; mend what it tells [allow]

Right:

    steps:
      - step: tie
        do: Tie the cord again as needed.
        allow: {vague: The drum on the bench is for trying}
      - step: hand-back
        do: Put the drum out for its owner.
        end: done
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from ...procedure.advice import ADVICE
from ...procedure.findings import Finding
from ...procedure.linked import Linked
from ...procedure.scope import meant
from ...procedure.showing import shortened
from ..findable import key_place
from ..silence import Silence

ID = "allow"


def check(
    linked: Linked, silences: Sequence[Silence], idle: Collection[Silence], known: Collection[str]
) -> Iterator[Finding]:
    """One finding for each silence that is none, and advice for each of `idle`. `known` are the ids of all rules."""
    for silence in silences:
        place = key_place(linked, silence.path)
        rule, reason = silence.rule, silence.reason
        if rule not in known:
            yield Finding(ID, f"there is no rule '{shortened(rule)}'{meant(rule, ADVICE)}", place)
        elif rule == ID:
            yield Finding(ID, "what is wrong with a silence cannot be silenced; mend it", place)
        elif rule not in ADVICE:
            yield Finding(ID, f"'{rule}' only tells errors, and errors cannot be silenced; mend what it tells", place)
        elif not isinstance(reason, str) or not reason.strip():
            message = f"'{rule}' is silenced without a reason; write why it may stand, as in {rule}: \"the reason\""
            yield Finding(ID, message, place)
        elif silence in idle:
            message = f"no advice of '{rule}' is given here, so nothing is silenced; take the silence out"
            yield Finding(ID, message, place, severity="advice")
