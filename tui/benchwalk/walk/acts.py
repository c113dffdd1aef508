"""Everything a person may do in a walk. An act is only a wish: `decide` says what comes of it."""

from __future__ import annotations

from dataclasses import field

from ..plaindata import Frozen


class Sign(Frozen):
    """A sign-off by another person, as the shop proved it.

    `how`: `pin` (their PIN was right), `practice` (played, practice and rehearsal only), `second look` (the same
    hand again after a time, where a one-person shop allows it; `again` then holds the covered readings measured
    anew, as typed).
    """

    who: str
    how: str
    again: dict[str, str] = field(default_factory=dict)


class Open(Frozen):
    """Begin a job: its id and kind (customer, practice, rehearsal), the text it is worked to, what is known of the
    drum, what the procedure takes (where another would hand it in), what else the shop notes of it, and the hash of the
    owner's facts."""

    job: str
    kind: str
    text: str
    drum: dict[str, str] = field(default_factory=dict)
    given: dict[str, str] = field(default_factory=dict)
    note: dict[str, str] = field(default_factory=dict)
    owner: str = ""


class Ready(Frozen):
    """All that is needed is at hand, or what is not is waived with a reason."""

    waived: str = ""


class GiveFact(Frozen):
    """A fact of the drum that the procedure asks for."""

    name: str
    typed: str


class Acknowledge(Frozen):
    """The hazards of this step were read."""


class Done(Frozen):
    """The action of this step (or of the way taken, or at this place) is done."""


class NotYet(Frozen):
    """What should be seen is not seen yet."""


class ChooseWay(Frozen):
    """One of the equally good ways is taken."""

    way: str


class Record(Frozen):
    """A reading. `sure` says that a value outside the possible is meant; `late_at` the time of a late entry; `file` the
    kept file of a picture, a sound, or the recording a note was heard in; `place` another place than the one asked,
    where a sum names the places and this one is opened by hand."""

    typed: str
    sure: bool = False
    late_at: str | None = None
    file: str | None = None
    place: str | None = None


class LeaveOut(Frozen):
    """This optional reading is left out; `why` in the person's own words, if any."""

    why: str = ""


class Waited(Frozen):
    """The time is up; `early` is the reason for going on before."""

    early: str = ""


class Release(Frozen):
    """A hold is released by another person."""

    sign: Sign
    note: str = ""


class Refuse(Frozen):
    """A hold is refused by another person, for one of its named reasons or none."""

    sign: Sign
    refused_for: str = ""
    note: str = ""


class SignAgain(Frozen):
    """A sign-off that a correction made void is given again; or (`refuse`) refused, for one of the hold's reasons."""

    sign_off: int
    sign: Sign
    note: str = ""
    refuse: bool = False
    refused_for: str = ""


class Skip(Frozen):
    """This step is left out, where it may be."""

    reason: str
    sign: Sign | None = None


class Happens(Frozen):
    """Something happened that a procedure knows how to meet: the innermost that foresees it, or the one walked under
    `path` ("" for the job's own)."""

    event: str
    path: str | None = None


class Overrule(Frozen):
    """The branches do not fit: another of them is taken, with a reason, by whom the shop lets do so.

    `visit` is the stop that was just left, where the walk took a branch by itself and nothing was done since; 0 for
    the step in hand.
    """

    line: int
    reason: str
    sign: Sign
    visit: int = 0


class Correct(Frozen):
    """A reading or a fact was wrong: `of` is the event that noted it; `file` the kept file of a picture or sound."""

    of: int
    typed: str
    reason: str
    sure: bool = False
    file: str | None = None


class GoBack(Frozen):
    """Go back to a visit and walk on from there; what was noted since no longer counts."""

    visit: int
    reason: str


class Accept(Frozen):
    """A corrected value would have led elsewhere; the walk as it went is accepted with a reason."""

    reason: str
    sign: Sign


class Note(Frozen):
    """A note, at any moment."""

    text: str


class Pause(Frozen):
    """Put the work down; inside a stage a note says how it stands. Work that its owner left lying is put down by
    whoever finds it, with a note."""

    note: str = ""


class Resume(Frozen):
    """Take the work up again: what was put down (by anybody), or one's own after it was broken off."""


class CheckPlace(Frozen):
    """The place was looked at and is as the log says (`said` tells how it is)."""

    said: str = ""


class HandOver(Frozen):
    """Hand the work to another person, in writing."""

    to: str
    note: str


class TakeOn(Frozen):
    """Take on work that was handed over; `how` it is known who does: by `name` alone, or by `pin`."""

    note: str = ""
    how: str = "name"


class Problem(Frozen):
    """This step cannot be followed as written."""

    text: str


class SettleProblem(Frozen):
    """The problem is settled; work may go on."""

    text: str


class Account(Frozen):
    """Tools, ends and loose parts are counted and all here; or `missing` says what is not.

    What is missing is noted, and the count stays open: until all is here, or whoever may release the job signs that it
    may close with that missing.
    """

    missing: str = ""
    sign: Sign | None = None


class ReleaseJob(Frozen):
    """The whole job is released: a separate act from any sign-off within it."""

    sign: Sign
    meaning: str = "checked and released"
    head: str = ""


Act = (
    Open
    | Ready
    | GiveFact
    | Acknowledge
    | Done
    | NotYet
    | ChooseWay
    | Record
    | LeaveOut
    | Waited
    | Release
    | Refuse
    | SignAgain
    | Skip
    | Happens
    | Overrule
    | Correct
    | GoBack
    | Accept
    | Note
    | Pause
    | Resume
    | CheckPlace
    | HandOver
    | TakeOn
    | Problem
    | SettleProblem
    | Account
    | ReleaseJob
)
