"""The parts of a procedure that steps rest on: hazards, needs, limits, readings, sums and findings.

The classes hold what the author wrote, checked for shape only.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from .fields import Names, Text, TextsOrNone, Unit, wrong

GRADES = ("danger", "warning", "caution", "notice")


class Part(BaseModel):
    """Common ground of all parts: no unknown keys, nothing changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True)


# --- hazards and needs -----------------------------------------------------------------------------------------


class HazardText(Part):
    """What can happen, what it does to you, and how to avoid it."""

    hazard: Text
    consequence: Text | None = None
    avoid: Text


def _hazard_list(value: Any) -> Any:
    return [value] if isinstance(value, dict) else value


HazardTexts = Annotated[
    list[HazardText], BeforeValidator(_hazard_list, json_schema_input_type=HazardText | list[HazardText])
]


class Graded(Part):
    """Hazards under their signal words: danger, warning, caution, notice."""

    danger: HazardTexts = []
    warning: HazardTexts = []
    caution: HazardTexts = []
    notice: HazardTexts = []

    @model_validator(mode="after")
    def _three_parts(self) -> Graded:
        for grade in GRADES[:3]:
            for part in getattr(self, grade):
                if part.consequence is None:
                    raise wrong(
                        f"a {grade} says three things: hazard, consequence and avoid; the consequence is not here"
                    )
        return self

    def graded(self) -> list[tuple[str, HazardText]]:
        """(signal word, hazard) pairs, the gravest first."""
        return [(grade, part) for grade in GRADES for part in getattr(self, grade)]


class NoHazards(Part):
    """No hazard was found, and somebody says so."""

    none_found_by: Text


class Needs(Part):
    """What must be at hand before the first step; each a list or the word none."""

    tools: TextsOrNone
    parts: TextsOrNone
    supplies: TextsOrNone
    before: TextsOrNone


# --- data ------------------------------------------------------------------------------------------------------


class Limit(Part):
    """A constant with its owner: the value, how sure it is, whose it is and why."""

    is_: Text = Field(alias="is")
    sure: Literal["P", "D", "C", "M"]
    whose: Text
    because: Text


class Take(Part):
    """What a caller hands in: one of some choices, a range in a unit, or a number in a unit."""

    choices: dict[Text, Text] | None = None
    range: Unit | None = None
    unit: Unit | None = None

    @model_validator(mode="after")
    def _one(self) -> Take:
        if sum(x is not None for x in (self.choices, self.range, self.unit)) != 1:
            raise wrong("say exactly one of choices, range or unit")
        return self


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
    per: Names | None = None
    head: Literal["batter", "snare-side"] | None = None
    where: Text | None = None
    elsewhere: Text | None = None
    optional: Because | None = None
    accept: Text | None = None

    @model_validator(mode="after")
    def _shape(self) -> Reading:
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
        if (self.where is None) != (self.elsewhere is None):
            raise wrong("where and elsewhere belong together: which places are asked, and what counts for the others")
        if self.where is not None and self.per is None:
            raise wrong("where needs per: it says which of the places are asked")
        return self

    @property
    def sort(self) -> str:
        """The kind, with the default filled in."""
        if self.kind:
            return self.kind
        return "choice" if self.choices is not None else "number"

    @property
    def by_rod(self) -> bool:
        """Whether it is asked at every rod."""
        return self.per == ["rod"]


class Sum(Part):
    """A registered sum and what it is given."""

    use: Text
    with_: dict[Text, Text] = Field(alias="with", default={})


class FindingDef(Part):
    """Something a branch may find, with the readings that prove it."""

    found: Text
    grade: Literal["ok", "watch", "refer", "tell-owner"]
    evidence: Names = []
    proposes: Names = []
