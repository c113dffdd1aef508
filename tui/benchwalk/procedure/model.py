"""A procedure as typed data: steps, events, examples and the whole (docs/procedure-grammar.md).

The classes hold what the author wrote, checked for shape only. What names mean, where steps lead and whether the
whole is sound is the business of `linking` and of the proof.
"""

from __future__ import annotations

from dataclasses import field
from typing import Annotated, Any, Literal

from .fields import Allow, Before, Id, Name, Names, Text, Texts, TextsOrNone, Whole, YesNo, places, wrong
from .parts import FindingDef, Graded, Hazards, HazardText, Limit, Needs, Part, Reading, Sum, Take

__all__ = ["HazardText", "Needs", "Part", "Procedure", "Reading", "Step"]

# --- steps -----------------------------------------------------------------------------------------------------


class Stage(Part):
    """A stage begins here; work may safely stop before it."""

    id: Id
    title: Text


class Way(Part):
    """One of several equally good ways."""

    way: Name
    say: Text
    do: Text | None = None
    go: Id | None = None


class Choose(Part):
    """Equally good ways of which exactly one is taken."""

    as_: Name = field(metadata={"alias": "as"})
    ways: list[Way] = field(metadata={"min_length": 2})


class Late(Part):
    """Where it leads when the latest time has passed."""

    go: Id


class Wait(Part):
    """A time to let pass, counted from a step's end (or from here)."""

    for_: Text = field(metadata={"alias": "for"})
    from_: Id | None = field(metadata={"alias": "from"}, default=None)
    at_latest: Text | None = None
    late: Late | None = None

    def __post_init__(self) -> None:
        if (self.at_latest is None) != (self.late is None):
            raise wrong("at_latest and late belong together: the latest time, and where it leads when it has passed")


class Hold(Part):
    """Work stops here until another person releases it."""

    by: Text
    signs: Text
    covers: Names = field(default_factory=list)
    for_work_by: Names = field(default_factory=list)
    refused_for: dict[Text, Text] = field(default_factory=dict)
    because: Text


class Witness(Part):
    """Somebody is told and may look; work goes on."""

    by: Text
    because: Text
    signs: Text = "looked on"


class Run(Part):
    """Another procedure, walked here under a name."""

    procedure: Id
    as_: Name = field(metadata={"alias": "as"})
    with_: dict[Text, Text] = field(metadata={"alias": "with"}, default_factory=dict)


class MaySkip(Part):
    """This step may be left out, by whom and why."""

    because: Text
    by: Text


class Entered(Part):
    """How often this step may be entered in one run, and where it leads after that."""

    at_most: Whole
    then: Id


class Branch(Part):
    """One way on, and the condition under which it is taken."""

    when: Text
    because: Text | None = None
    find: Names = field(default_factory=list)
    go: Id
    at_most: Whole | None = None
    then: Id | None = None
    accept: Text | None = None

    def __post_init__(self) -> None:
        if (self.at_most is None) != (self.then is None):
            raise wrong("at_most and then belong together: how often, and where it leads after that")


class End(Part):
    """The end of the procedure: done, stopped or referred."""

    as_: Literal["done", "stopped", "referred"] = field(metadata={"alias": "as"})
    proposes: Names = field(default_factory=list)
    say: Text | None = None


def _end(value: Any) -> Any:
    return {"as": value} if isinstance(value, str) else value


def _each(value: Any) -> Any:
    if isinstance(value, dict):
        if list(value) == ["rod"] and value["rod"] == "pairs":
            return ["rod in pairs"]
        raise wrong("each takes rod, a list of places, 'rod where ...', or {rod: pairs}")
    if value in ("pairs", "rod pairs"):
        raise wrong(f"'{value}' would be one place of that name; for rods in pairs write {{rod: pairs}}")
    return places(value)


class Step(Graded):
    """One step: one action, what is noted, who must look, and where it leads."""

    step: Id
    stage: Stage | None = None
    do: Text | None = None
    expect: Text | None = None
    why: Text | None = None
    if_not: Texts | None = None
    record: Names = field(default_factory=list)
    work_out: Names = field(default_factory=list)
    choose: Choose | None = None
    each: Annotated[list[Text], Before(_each)] | None = None
    wait: Wait | None = None
    hold: Hold | None = None
    witness: Witness | None = None
    run: Run | None = None
    may_skip: MaySkip | None = None
    entered: Entered | None = None
    show: Text | None = None
    branches: list[Branch] | None = field(default=None, metadata={"min_length": 1})
    first_of: list[Branch] | None = field(default=None, metadata={"min_length": 1})
    go: Id | None = None
    allow: Allow = field(default_factory=dict)
    end: Annotated[End | None, Before(_end, str | End)] = None

    def __post_init__(self) -> None:
        super().__post_init__()
        ways = [key for key in ("branches", "first_of", "go", "end") if getattr(self, key) is not None]
        if len(ways) > 1:
            raise wrong(f"{' and '.join(ways)} stand in one step; only one of them can say where it leads")
        if self.choose and self.run:
            raise wrong("choose and run stand in one step; make two steps of them")
        if self.hold and self.witness:
            raise wrong("hold and witness stand in one step; make two steps of them")
        if self.choose and any(way.go for way in self.choose.ways):
            if ways:
                raise wrong(f"the ways of choose say where they lead, and so does {ways[0]}; only one of them can")
            if not all(way.go for way in self.choose.ways):
                raise wrong("either every way of choose says go, or none does")

    @property
    def lines(self) -> list[Branch]:
        """The branches, of either form, in order."""
        return self.branches or self.first_of or []


class Whenever(Part):
    """Something that may happen at any step of its range."""

    event: Id
    say: Text
    during: Names
    go: Id | None = None
    run: Run | None = None
    then_back: YesNo = False
    at_most: Whole | None = None
    then: Id | None = None

    def __post_init__(self) -> None:
        if self.go is None and self.run is None:
            raise wrong("say where it leads: go, or run with then_back: true")
        if (self.run is not None) != self.then_back:
            raise wrong("run and then_back: true belong together")
        if (self.at_most is None) != (self.then is None):
            raise wrong("at_most and then belong together: how often, and where it leads after that")


# --- examples --------------------------------------------------------------------------------------------------


class Usual(Part):
    """What every example starts from."""

    drum: dict[Text, Text] = field(default_factory=dict)
    given: dict[Text, Any] = field(default_factory=dict)
    acts: dict[Text, Any] = field(default_factory=dict)
    assume: dict[Text, Any] = field(default_factory=dict)


class Example(Usual):
    """One walk through the procedure: what is given, what is done, and how it must go."""

    example: Text
    passes: Names = field(default_factory=list)
    finds: Names | None = None
    ends: Text = "done"


# --- the whole -------------------------------------------------------------------------------------------------


class Procedure(Part):
    """A whole procedure, as its author wrote it."""

    procedure: Id
    title: Text
    revision: Whole
    for_: Texts = field(metadata={"alias": "for"})
    purpose: Text
    needs: Needs
    hazards: Hazards
    time: Text
    sources: TextsOrNone
    drum: Names = field(default_factory=list)
    limits: dict[Name, Limit] = field(default_factory=dict)
    takes: dict[Name, Take] = field(default_factory=dict)
    gives: Names = field(default_factory=list)
    readings: dict[Name, Reading] = field(default_factory=dict)
    sums: dict[Name, Sum] = field(default_factory=dict)
    findings: dict[Id, FindingDef] = field(default_factory=dict)
    whenever: list[Whenever] = field(default_factory=list)
    usual: Usual = field(default_factory=lambda: Usual.of({}))
    steps: list[Step] = field(metadata={"min_length": 1})
    examples: list[Example] = field(default_factory=list)
    allow: Allow = field(default_factory=dict)
