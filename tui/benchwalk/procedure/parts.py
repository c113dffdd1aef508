"""The parts of a procedure that steps rest on: hazards, needs, limits, readings, sums and findings.

The classes hold what the author wrote, checked for shape only.
"""

from __future__ import annotations

from dataclasses import Field, dataclass, field
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, Self, dataclass_transform

from .fields import Allow, Before, Names, Places, Text, TextsOrNone, Unit, wrong

if TYPE_CHECKING:
    from pydantic import ConfigDict, TypeAdapter

GRADES = ("danger", "warning", "caution", "notice")


@dataclass_transform(eq_default=False, frozen_default=True, kw_only_default=True, field_specifiers=(field,))
class Part:
    """Common ground of all parts: read from a tree by pydantic, no unknown keys, nothing changed after reading.

    A part is a dataclass that is never made by hand, so that nothing is written out for its class when it is loaded:
    neither pydantic nor an `__init__`.
    """

    __dataclass_fields__: ClassVar[dict[str, Field[Any]]]
    __pydantic_config__: ClassVar[ConfigDict] = {"extra": "forbid"}

    def __init_subclass__(cls) -> None:
        dataclass(init=False, repr=False, eq=False, match_args=False)(cls)

    def __init__(self) -> None:
        raise TypeError(f"a {type(self).__name__} is made by reading: {type(self).__name__}.of(...)")

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{name} of a {type(self).__name__} is not changed after reading")

    @classmethod
    def of(cls, tree: Any) -> Self:
        """This part as a tree of plain values says it; raises pydantic's ValidationError with all that is wrong."""
        made: Self = reader(cls).validate_python(tree)
        return made

    def but(self, **values: Any) -> Self:
        """The same part with other values in some fields; they are not checked."""
        made = object.__new__(type(self))
        made.__dict__.update(self.__dict__, **values)
        return made


_READERS: dict[Any, TypeAdapter[Any]] = {}


def reader(part: type[Any]) -> TypeAdapter[Any]:
    """What reads parts of that class; only for those that are read by themselves, not as parts of another."""
    if part not in _READERS:
        from pydantic import TypeAdapter  # only now: see above

        _READERS[part] = TypeAdapter(part)
    return _READERS[part]


# --- hazards and needs -----------------------------------------------------------------------------------------


class HazardText(Part):
    """What can happen, what it does to you, and how to avoid it."""

    hazard: Text
    consequence: Text | None = None
    avoid: Text


def _hazard_list(value: Any) -> Any:
    return [value] if isinstance(value, dict) else value


HazardTexts = Annotated[list[HazardText], Before(_hazard_list, HazardText | list[HazardText])]


class Graded(Part):
    """Hazards under their signal words: danger, warning, caution, notice."""

    # By a factory, here and where parts are as many as steps: a plain [] is deep-copied for every one of them.
    danger: HazardTexts = field(default_factory=list)
    warning: HazardTexts = field(default_factory=list)
    caution: HazardTexts = field(default_factory=list)
    notice: HazardTexts = field(default_factory=list)

    def __post_init__(self) -> None:
        for grade in GRADES[:3]:
            for part in getattr(self, grade):
                if part.consequence is None:
                    raise wrong(
                        f"a {grade} says three things: hazard, consequence and avoid; the consequence is not here"
                    )

    def graded(self) -> list[tuple[str, HazardText]]:
        """(signal word, hazard) pairs, the gravest first."""
        return [(grade, part) for grade in GRADES for part in getattr(self, grade)]


class NoHazards(Part):
    """No hazard was found, and somebody says so."""

    none_found_by: Text


def _hazards_of_all(value: Any) -> Any:
    if (value and isinstance(value, list)) or (isinstance(value, dict) and "none_found_by" in value):
        return value
    found = "keys and values" if isinstance(value, dict) else f"'{value[:40]}'" if value else "nothing"
    raise wrong(
        f"{found} found where the hazards are listed; where somebody looked and found none, "
        "write {none_found_by: senior}, with the role that looked"
    )


Hazards = Annotated[list[Graded] | NoHazards, Before(_hazards_of_all)]
"""The hazards of the whole work, or who found that there are none."""


class Needs(Part):
    """What must be at hand before the first step; each a list or the word none."""

    tools: TextsOrNone
    parts: TextsOrNone
    supplies: TextsOrNone
    before: TextsOrNone


# --- data ------------------------------------------------------------------------------------------------------


class Limit(Part):
    """A constant with its owner: the value, how sure it is, whose it is and why."""

    is_: Text = field(metadata={"alias": "is"})
    sure: Literal["P", "D", "C", "M"]
    whose: Text
    because: Text


class Take(Part):
    """What a caller hands in: one of some choices, a range in a unit, or a number in a unit."""

    choices: dict[Text, Text] | None = None
    range: Unit | None = None
    unit: Unit | None = None

    def __post_init__(self) -> None:
        if sum(x is not None for x in (self.choices, self.range, self.unit)) != 1:
            raise wrong("say exactly one of choices, range or unit")


class Because(Part):
    """A reason."""

    because: Text


class Reading(Part):
    """One entry of the data dictionary: what is asked, in which unit, what is possible and what is wanted."""

    ask: Text
    kind: Literal["number", "whole", "choice", "note", "words", "picture", "sound"] | None = None
    unit: Unit | None = None
    choices: dict[Text, Text] | None = None
    possible: Text | None = None
    wanted: Names | None = None
    resolution: Text | None = None
    per: Places | None = None
    head: Literal["batter", "snare-side"] | None = None
    tapped: Literal["rod", "centre", "shell"] | None = None
    hears: Literal["split", "ring", "level"] | None = None
    where: Text | None = None
    elsewhere: Text | None = None
    optional: Because | None = None
    accept: Text | None = None
    allow: Allow = field(default_factory=dict)

    def __post_init__(self) -> None:
        kind = self.sort
        if kind == "choice" and not self.choices:
            raise wrong("a choice needs choices: {word: what is shown, ...}")
        if kind != "choice" and self.choices:
            raise wrong(f"choices and kind {kind} do not go together")
        if kind == "number" and not self.unit:
            raise wrong("say the unit (mm, turns, percent), or choices, or a kind: whole, note, words, picture, sound")
        if kind in ("choice", "words", "picture", "sound"):
            for key in ("unit", "possible", "resolution"):
                if getattr(self, key) is not None:
                    raise wrong(f"{key} has no meaning for {kind}")
        if kind in ("words", "picture", "sound") and self.wanted is not None:
            raise wrong(f"wanted has no meaning for {kind}")
        if self.hears is not None and kind not in ("number", "whole"):
            raise wrong(f"hears names a figure of a tap, and has no meaning for {kind}")
        if self.tapped is not None and not self.heard:
            raise wrong(f"tapped says where a note is tapped, and has no meaning for {kind}")
        if (self.where is None) != (self.elsewhere is None):
            raise wrong("where and elsewhere belong together: which places are asked, and what counts for the others")
        if self.where is not None and self.per is None:
            raise wrong("where needs per: it says which of the places are asked")

    @property
    def sort(self) -> str:
        """The kind, with the default filled in."""
        if self.kind:
            return self.kind
        return "choice" if self.choices is not None else "number"

    @property
    def heard(self) -> bool:
        """Whether a microphone can answer it."""
        return self.sort == "note" or self.hears is not None

    @property
    def tapped_at(self) -> str:
        """Where a note is tapped: beside a `rod` with the centre touched, in the `centre`, or on the `shell`."""
        return self.tapped or ("rod" if self.by_rod else "centre")

    @property
    def by_rod(self) -> bool:
        """Whether it is asked at every rod."""
        return self.per == ["rod"]


class Sum(Part):
    """A registered sum and what it is given."""

    use: Text
    with_: dict[Text, Text] = field(metadata={"alias": "with"}, default_factory=dict)


class FindingDef(Part):
    """Something a branch may find, with the readings that prove it."""

    found: Text
    grade: Literal["ok", "watch", "refer", "tell-owner"]
    evidence: Names = field(default_factory=list)
    proposes: Names = field(default_factory=list)
    allow: Allow = field(default_factory=dict)
