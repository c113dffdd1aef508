"""The JSON Schema of the grammar: what an editor completes, explains and refuses."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from benchwalk.procedure import model, parts
from benchwalk.procedure.facts import FACTS
from benchwalk.procedure.linking import link
from benchwalk.procedure.meanings import MEANINGS
from benchwalk.procedure.read import keys_of, read
from benchwalk.procedure.schema import UNITS, schema, schema_text
from benchwalk.quantities import canonical_unit, dimension
from benchwalk.signatures import SIGNATURES
from house import PACKAGE, ROOT, some

FILE = PACKAGE / "procedure" / "procedure.schema.json"
AGAIN = "python -m benchwalk.procedure.schema > tui/benchwalk/procedure/procedure.schema.json"
SHIPPED = sorted((ROOT / "procedures").glob("*.yaml"))
Path = tuple[str | int, ...]


@cache
def made_once() -> Any:
    """The schema, made once for all tests."""
    return schema()


@cache
def validator() -> jsonschema.Draft202012Validator:
    """The schema, ready to judge."""
    return jsonschema.Draft202012Validator(made_once())


def loaded(text: str) -> Any:
    """A text as an editor's reader of YAML 1.2 has it: 0.5 a number, true a truth value."""
    return YAML(typ="safe", pure=True).load(text)


@cache
def shipped(name: str) -> str:
    """The text of a shipped procedure."""
    return (ROOT / "procedures" / f"{name}.yaml").read_text(encoding="utf-8")


@cache
def _flagship() -> Any:
    return loaded(shipped("retie-snare-cords"))


def flagship() -> Any:
    """The longest shipped procedure as an editor has it, to be changed at will."""
    return copy.deepcopy(_flagship())


def parts_of_the_grammar() -> dict[str, type[parts.Part]]:
    """Every class of the model by its name."""
    found = {**vars(parts), **vars(model)}
    kinds = {n: c for n, c in found.items() if isinstance(c, type) and issubclass(c, parts.Part)}
    return {n: c for n, c in kinds.items() if c is not parts.Part}


# --- the file ----------------------------------------------------------------------------------------------------


def test_schema_is_a_schema() -> None:
    """The schema itself is valid draft 2020-12."""
    jsonschema.Draft202012Validator.check_schema(schema())


def test_committed_file_is_the_generated_one() -> None:
    """The file beside the models is what the models make of it now."""
    assert FILE.read_text(encoding="utf-8") == schema_text(), f"make it anew: {AGAIN}"


def test_command_makes_the_file() -> None:
    """The command that makes the file anew prints exactly its text."""
    command = [sys.executable, "-m", "benchwalk.procedure.schema"]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout == schema_text()


def test_file_is_part_of_the_package() -> None:
    """An installed Benchwalk has the schema as data of its package."""
    held = files("benchwalk.procedure").joinpath("procedure.schema.json").read_text(encoding="utf-8")
    assert json.loads(held)["title"] == "A Benchwalk procedure"


# --- meanings ----------------------------------------------------------------------------------------------------


def test_every_key_has_a_meaning_and_no_other_has() -> None:
    """The table of meanings has exactly the keys of the models, class by class."""
    assert {n: set(m) for n, m in MEANINGS.items()} == {n: set(keys_of(c)) for n, c in parts_of_the_grammar().items()}


def test_meanings_are_one_short_line() -> None:
    """Each meaning is one line that fits beside a key and ends as a sentence does."""
    said = [(n, k, text) for n, keys in MEANINGS.items() for k, text in keys.items()]
    assert [s for s in said if "\n" in s[2] or len(s[2]) > 110 or not s[2].endswith(".")] == []


def test_offered_units_are_units_by_their_own_name() -> None:
    """Each unit an editor offers is one the program knows, under that very name."""
    assert [u for u in UNITS if canonical_unit(u) != u or dimension(u) == u] == []


# --- what is accepted --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", some(path.stem for path in SHIPPED))
def test_shipped_procedure_is_accepted(name: str) -> None:
    """Every shipped procedure, read as an editor reads it, fits the schema."""
    text = (ROOT / "procedures" / f"{name}.yaml").read_text(encoding="utf-8")
    faults = [f"{e.json_path}: {e.message}" for e in validator().iter_errors(loaded(text))]
    assert faults == []


NUMBERS_AND_TEXTS = (
    ("revision: 1", 'revision: "1"'),
    ("possible: 0 .. 30", "possible: 5"),
    ("wanted: [plain, wooden, oversize]", "wanted: [plain, true, 3]"),
    ("resolution: 0.25", 'resolution: "0.25"'),
    ("least_gap: {is: 1 mm", "least_gap: {is: 1"),
    ("knob_total: 12", 'knob_total: "12"'),
    ("film: 7.5 mil", "film: missing"),
    ("wait: {for: 30 min", "wait: {for: 30"),
    ("acts: {pick-way: {event: must-leave}}", "acts: {pick-way: {visits: [~, {event: must-leave}, ~]}}"),
)


def test_value_may_be_number_or_text() -> None:
    """Where a value stands, a number, a truth value and a text in quotes are all the same to the schema."""
    text = shipped("retie-snare-cords")
    for old, new in NUMBERS_AND_TEXTS:
        assert old in text
        text = text.replace(old, new)
    assert [error.json_path for error in validator().iter_errors(loaded(text))] == []


# --- what is refused ---------------------------------------------------------------------------------------------

PLACES: list[Path] = [
    (),
    ("needs",),
    ("hazards", 0),
    ("hazards", 0, "warning"),
    ("limits", "least_gap"),
    ("readings", "knob_total"),
    ("readings", "knob_total", "optional"),
    ("sums", "room"),
    ("sums", "room", "with"),
    ("findings", "plate-on-hoop"),
    ("whenever", 0),
    ("usual",),
    ("usual", "drum"),
    ("steps", 0),
    ("steps", 0, "stage"),
    ("steps", 0, "branches", 0),
    ("examples", 0),
]


def at(document: Any, path: Path) -> Any:
    """What stands at a path."""
    for part in path:
        document = document[part]
    return document


@pytest.mark.parametrize("path", PLACES, ids=str)
def test_unknown_key_is_refused(path: Path) -> None:
    """A key that is not of the grammar is refused wherever it stands."""
    document = flagship()
    at(document, path)["becuase"] = "slips of the pen"
    assert not validator().is_valid(document)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("procedure",), "Re-tie"),
        (("revision",), 1.5),
        (("revision",), "one"),
        (("revision",), -1),
        (("title",), ""),
        (("drum",), ["hoops"]),
        (("needs", "tools"), {"a": "b"}),
        (("hazards",), "none"),
        (("hazards", 0, "warning"), {"hazard": "a", "avoid": "b"}),
        (("limits", "least_gap", "sure"), "X"),
        (("limits", "missing"), {"is": "1 mm", "sure": "C", "whose": "us", "because": "it"}),
        (("readings", "Bad-Name"), {"ask": "x", "unit": "mm"}),
        (("readings", "throw", "kind"), "nubmer"),
        (("readings", "throw", "head"), "left"),
        (("readings", "throw", "where"), "advice.moves"),
        (("sums", "room", "use"), "snare-rom"),
        (("sums", "room", "with"), {"clear": "clear_length"}),
        (("findings", "plate-on-hoop", "grade"), "bad"),
        (("steps",), []),
        (("steps", 0, "branches"), []),
        (("steps", 0, "branches", 0, "at_most"), 2),
        (("steps", 0, "end"), "finished"),
        (("steps", 0, "step"), "Not an id"),
        (("whenever", 0, "then_back"), "yes"),
        (("examples", 0, "ends"), "fine"),
        (("examples", 0, "acts"), {"rest": {"slept": "31 min"}}),
        (("examples", 0, "acts"), {"rest": {"after": "31 min", "skipped": "no time"}}),
        (("examples", 0, "given"), {"throw": {"visits": []}}),
        (("examples", 0, "assume"), {"count": {"search": "many"}}),
    ],
    ids=str,
)
def test_wrong_value_is_refused(path: Path, value: Any) -> None:
    """A value that cannot stand at its place is refused."""
    document = flagship()
    at(document, path[:-1])[path[-1]] = value
    assert not validator().is_valid(document)


def nodes(value: Any, path: Path = ()) -> Iterator[Path]:
    """The paths of all that stands in a document."""
    pairs: Any = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in pairs:
        yield (*path, key)
        yield from nodes(inner, (*path, key))


LOOSE = {"given", "acts", "assume", "ends"}  # read as anything; what does not fit is seen when the example is walked


@cache
def small() -> Any:
    """A short whole procedure, as an editor's reader has it."""
    document = loaded(shipped("deburr-cord-holes"))
    document["examples"] = document["examples"][-1:]
    return document


def written(document: Any) -> bytes:
    """A document as the bytes of a file; JSON is YAML."""
    return json.dumps(document, ensure_ascii=False).encode()


def program_takes(document: Any) -> bool:
    """Whether the program takes a document, written out anew, as one that can be walked."""
    linked = link(read(written(document), "made.yaml"), lambda name: None)
    return linked is not None and linked.sound


def changed(document: Any, path: Path, how: str) -> Any:
    """The document with one thing in it taken out, renamed, or put in the wrong shape."""
    made = copy.deepcopy(document)
    above, key = at(made, path[:-1]), path[-1]
    if how == "taken out":
        del above[key]
    elif how == "renamed":
        above[f"{key}x"] = above.pop(key)
    elif how == "list":
        above[key] = ["a", "b"]
    elif how == "map":
        above[key] = {"a": "b"}
    else:
        above[key] = "some text"
    return made


@pytest.mark.parametrize("how", ["taken out", "renamed", "list", "map", "text"])
def test_schema_refuses_nothing_that_can_be_walked(how: str) -> None:
    """Whatever is changed in a procedure, an editor underlines it only where the program, too, says it is wrong."""
    alarms, refused = [], 0
    for path in [p for p in nodes(small()) if not LOOSE & set(p)]:
        if how == "renamed" and not isinstance(path[-1], str):
            continue
        made = changed(small(), path, how)
        if not validator().is_valid(made):
            refused += 1
            if program_takes(made):
                alarms.append(path)
    assert refused > 10
    assert alarms == []


def test_missing_and_unknown_keys_are_refused_by_both() -> None:
    """What the reader refuses for a missing or an unknown key, an editor underlines as well."""
    refused = 0
    for path in [p for p in nodes(small()) if isinstance(p[-1], str) and not LOOSE & set(p)]:
        for how in ("taken out", "renamed"):
            made = changed(small(), path, how)
            if validator().is_valid(made):
                source = read(written(made), "made.yaml")
                assert [f.message for f in source.findings if f.rule in ("missing-key", "unknown-key")] == []
            else:
                refused += 1
    assert refused > 100


# --- what an editor offers ---------------------------------------------------------------------------------------


def candidates(made: Any, value: Any) -> Iterator[Any]:
    """The schemas that bear on one place, as a language server gathers them."""
    if not isinstance(made, dict):
        return
    yield made
    if "$ref" in made:
        yield from candidates(made_once()["$defs"][made["$ref"].rpartition("/")[2]], value)
    for word in ("anyOf", "oneOf", "allOf"):
        for one in made.get(word, ()):
            yield from candidates(one, value)
    if "if" in made:
        inner = {**made["if"], "$defs": made_once()["$defs"]}
        branch = "then" if jsonschema.Draft202012Validator(inner).is_valid(value) else "else"
        yield from candidates(made.get(branch), value)


def under(made: Any, key: str) -> Any:
    """The schema of what stands under a key."""
    return made.get("properties", {}).get(key, made.get("additionalProperties"))


def bearing(path: Path) -> list[Any]:
    """The schemas that bear on a place of the sample, which need not be there yet."""
    document: Any = SAMPLE
    here = list(candidates(made_once(), document))
    for part in path:
        known = isinstance(part, int) or part in document
        document = document[part] if known else None
        below = [one.get("items") if isinstance(part, int) else under(one, part) for one in here]
        here = [found for one in below for found in candidates(one, document)]
    return here


def offered(path: Path) -> dict[str, str]:
    """Key to meaning of all that an editor offers at a place of the sample."""
    return {k: v.get("description", "") for one in bearing(path) for k, v in one.get("properties", {}).items()}


def words(path: Path) -> set[str]:
    """The values an editor offers at a place of the sample."""
    return {str(word) for one in bearing(path) for word in one.get("enum", [one["const"]] if "const" in one else [])}


SAMPLE = {
    "needs": {},
    "hazards": [{"warning": {}}],
    "limits": {"least_gap": {}},
    "takes": {"side": {}},
    "readings": {"butt_gap": {"optional": {}}},
    "sums": {"room": {"use": "snare-room", "with": {}}},
    "findings": {"plate-on-hoop": {}},
    "whenever": [{"run": {}}],
    "usual": {"drum": {}, "acts": {"look": {}}, "given": {"gap": {}}},
    "steps": [
        {
            "stage": {},
            "caution": [{}],
            "choose": {"ways": [{}]},
            "wait": {"late": {}},
            "hold": {},
            "witness": {},
            "run": {},
            "may_skip": {},
            "entered": {},
            "branches": [{}],
            "first_of": [{}],
            "end": {},
        }
    ],
    "examples": [{}],
}


@pytest.mark.parametrize(
    ("path", "part"),
    [
        ((), model.Procedure),
        (("needs",), parts.Needs),
        (("hazards", 0), parts.Graded),
        (("hazards", 0, "warning"), parts.HazardText),
        (("limits", "least_gap"), parts.Limit),
        (("takes", "side"), parts.Take),
        (("readings", "butt_gap"), parts.Reading),
        (("readings", "butt_gap", "optional"), parts.Because),
        (("sums", "room"), parts.Sum),
        (("findings", "plate-on-hoop"), parts.FindingDef),
        (("whenever", 0), model.Whenever),
        (("whenever", 0, "run"), model.Run),
        (("usual",), model.Usual),
        (("steps", 0), model.Step),
        (("steps", 0, "stage"), model.Stage),
        (("steps", 0, "caution", 0), parts.HazardText),
        (("steps", 0, "choose"), model.Choose),
        (("steps", 0, "choose", "ways", 0), model.Way),
        (("steps", 0, "wait"), model.Wait),
        (("steps", 0, "wait", "late"), model.Late),
        (("steps", 0, "hold"), model.Hold),
        (("steps", 0, "witness"), model.Witness),
        (("steps", 0, "run"), model.Run),
        (("steps", 0, "may_skip"), model.MaySkip),
        (("steps", 0, "entered"), model.Entered),
        (("steps", 0, "branches", 0), model.Branch),
        (("steps", 0, "first_of", 0), model.Branch),
        (("steps", 0, "end"), model.End),
        (("examples", 0), model.Example),
    ],
    ids=lambda v: ".".join(map(str, v)) if isinstance(v, tuple) else v.__name__,
)
def test_editor_offers_the_keys_of_the_part(path: Path, part: type[parts.Part]) -> None:
    """At each place an editor offers exactly the keys of the model there, each with its meaning."""
    found = offered(path)
    assert set(found) == set(keys_of(part))
    assert [key for key, said in found.items() if not said] == []


def test_editor_offers_what_a_sum_takes() -> None:
    """Once a sum is named, its own inputs are offered, each with what it is."""
    found = offered(("sums", "room", "with"))
    assert found == {i.name: i.about[:1].upper() + i.about[1:] + "." for i in SIGNATURES["snare-room"].inputs}


def test_editor_offers_facts_and_acts() -> None:
    """In examples the facts of a drum, what can be done at a step, and visits and each are offered."""
    assert set(offered(("usual", "drum"))) == set(FACTS)
    acts = {"after", "skipped", "event", "problem", "refused", "visits"}
    assert set(offered(("usual", "acts", "look"))) == acts
    assert set(offered(("usual", "given", "gap"))) == {"visits", "each"}


@pytest.mark.parametrize(
    ("path", "known"),
    [
        (("readings", "butt_gap", "kind"), {"number", "whole", "choice", "note", "words", "picture", "sound"}),
        (("readings", "butt_gap", "unit"), set(UNITS)),
        (("readings", "butt_gap", "head"), {"batter", "snare-side"}),
        (("readings", "butt_gap", "per"), {"rod"}),
        (("limits", "least_gap", "sure"), {"P", "D", "C", "M"}),
        (("findings", "plate-on-hoop", "grade"), {"ok", "watch", "refer", "tell-owner"}),
        (("sums", "room", "use"), set(SIGNATURES)),
        (("steps", 0, "end"), {"done", "stopped", "referred"}),
        (("steps", 0, "branches", 0, "when"), {"otherwise"}),
        (("whenever", 0, "during"), {"everywhere"}),
        (("examples", 0, "ends"), {"done", "stopped", "referred"}),
    ],
    ids=lambda v: ".".join(map(str, v)) if isinstance(v, tuple) else "",
)
def test_editor_offers_the_choices(path: Path, known: set[str]) -> None:
    """Where only certain words can stand, or some are usual, an editor offers them."""
    assert words(path) == known
