"""What both reports say: what must be read first, whose it is, the route, the looks, and the head of the log."""

from __future__ import annotations

from ..walk.state import SignOff
from .parts import Line, Piece, Ref, Rope, Stretch, Tinted
from .record import Record, day, day_and_time, stamp

KINDS = {
    "practice": "Practice: nothing here speaks of a customer's drum.",
    "rehearsal": "Rehearsal: nobody did this work.",
}
HEAD = 16
"""Characters of the log's head that an owner's sheet carries, and that `audit --head` takes."""


def banner(record: Record) -> list[Line]:
    """What must be read before anything else."""
    lines: list[Line] = []
    if record.state.kind in KINDS:
        lines.append((Tinted(KINDS[record.state.kind], "strong"),))
    if not record.state.released:
        lines.append((Tinted("Not released yet.", "strong"), f" {_where_it_stands(record)}"))
    if record.torn:
        lines.append(("The last line of the log was cut short and does not count.",))
    return lines


def _where_it_stands(record: Record) -> str:
    state = record.state
    if state.stale():
        return "A value was corrected, and what rests on it is not gone through yet."
    if state.ended is not None:
        return "The work has come to its end, and nobody has answered for the whole of it."
    if state.problem is not None:
        return "The work stands still: a problem was reported."
    if state.handed_to:
        return "The work is handed over and not taken on yet."
    if state.paused:
        return "The work is put down."
    return "The work is under way." if state.visits else "The work has not begun."


def owner_line(record: Record, *, contact: bool) -> Line:
    """Whose it is; plainly where the facts were removed, never given, or are not those of the intake."""
    facts, given, same = record.owner
    if facts is None:
        gone = record.state.owner_removed
        when = f", {day(gone['at'])}" if gone is not None else ""
        return (Tinted(f"removed from the shop's files{when}" if given else "not said", "quiet"),)
    name = facts.get("name", "")
    rest = [f"{key}: {value}" for key, value in facts.items() if key != "name"] if contact else []
    line: list[Piece] = ["; ".join(part for part in (name, *rest) if part) or Tinted("not said", "quiet")]
    if given and same is False:
        line += ["; ", Tinted("not as given at intake", "outside")]
    return tuple(line)


def rope(record: Record) -> Rope:
    """The stages of the job's procedure: those walked, the one in hand, and, while work goes on, those ahead."""
    state, linked = record.state, record.root
    walked = {record.stage(visit) for visit in state.visits if not visit.struck}
    here = state.here()
    now = record.stage(here) if here is not None and state.ended is None else ""
    titles = list(dict.fromkeys(s.stage.title for s in linked.procedure.steps if s.stage))
    stretches: list[Stretch] = []
    for title in titles:
        if title == now:
            stretches.append(Stretch(title, "here"))
        elif title in walked:
            stretches.append(Stretch(title, "behind"))
        elif state.ended is None:
            stretches.append(Stretch(title, "ahead"))
    return Rope(tuple(stretches), state.ended["outcome"] if state.ended else "")


def who_and_role(record: Record, n: int) -> str:
    """`Mara Quill, senior`, as the log has it."""
    sign = record.sign(n)
    name, role = str(sign.get("name", sign.get("who", ""))), str(sign.get("role", ""))
    return f"{name}, {role}" if role else name


def how_proved(record: Record, n: int) -> str:
    """How a sign-off was proved, where that must be known: the one-person shop's policy, or practice."""
    sign = record.sign(n)
    if sign.get("policy"):
        return str(sign["policy"])
    return "in practice, no PIN asked" if sign.get("how") == "practice" else ""


def meaning(record: Record, sign: SignOff) -> str:
    """What a look means, and whether it still stands."""
    words = [sign.meaning, how_proved(record, sign.n)]
    if sign.void:
        words.append(f"void: {sign.void}" + ("; given again" if sign.renewed else ""))
    return "; ".join(word for word in words if word)


def release_line(record: Record, *, refs: bool) -> Line:
    """Who released the job, with name, role, time and meaning; or that nobody did."""
    released = record.state.released
    if not released:
        return (Tinted("not released yet", "strong"),)
    n = released["n"]
    at = stamp(released["at"]) if refs else day_and_time(released["at"])
    proved = how_proved(record, n)
    line: list[Piece] = [Tinted(released["meaning"], "strong"), f", by {who_and_role(record, n)}, {at}"]
    line.append(f" ({proved})" if proved else "")
    if refs:
        line += [" ", Ref(n)]
    return tuple(line)
