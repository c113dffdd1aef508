"""Procedures that are kept between two runs of the program: the same as those that are read, or not there at all."""

from __future__ import annotations

import os
import pickle
import resource
import shutil
from collections.abc import Callable
from dataclasses import is_dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest

import benchwalk.kept as kept
import benchwalk.kept_files as kept_files
from benchwalk.data import shipped_folder
from benchwalk.errors import Failure, Refused
from benchwalk.job.shop import Shop
from benchwalk.library import Library
from benchwalk.paths import procedures_cache
from benchwalk.procedure.linked import Linked
from benchwalk.procedure.linking import link
from benchwalk.procedure.read import read
from benchwalk.proof.rehearse import rehearse
from benchwalk.session import Books
from benchwalk.sums import compute
from shop_helpers import FLAGSHIP, begin, fresh_shop, resume

RUN = "tie-one-side"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of its own with the shipped procedures, nothing of it kept yet."""
    shutil.copytree(shipped_folder(), tmp_path / "procedures")
    return tmp_path / "procedures"


def got(folder: Path, name: str = FLAGSHIP) -> Linked:
    """The procedure as one run of the program gets it for a walk."""
    return Library([folder]).get(name)


def text_of(path: Path) -> kept.Text:
    """The text of a procedure and of what it runs, beside it."""

    def find(name: str) -> kept.Text | None:
        beside = path.parent / f"{name}.yaml"
        return text_of(beside) if beside.is_file() else None

    return kept.Text(path.read_bytes(), path.name, find)


def loaded(folder: Path, name: str = FLAGSHIP) -> Linked | None:
    """What is kept of a procedure, as far as it counts."""
    return kept.load(text_of(folder / f"{name}.yaml"))


def entry(folder: Path, name: str = FLAGSHIP) -> Path:
    """The file that a procedure is kept in."""
    return procedures_cache() / f"{sha256((folder / f'{name}.yaml').read_bytes()).hexdigest()}.kept"


def said(thing: Any) -> Any:
    """All that a procedure holds as plain values, whatever objects they lie in; the tree by its text alone, and without
    what was worked out of it, which is worked out anew."""
    if isinstance(thing, dict):
        return {key: said(value) for key, value in thing.items()}
    if isinstance(thing, list | tuple):
        return [said(value) for value in thing]
    if is_dataclass(thing):
        held = {name: value for name, value in vars(thing).items() if name not in ("tree", "_known")}
        return [type(thing).__name__, {name: said(value) for name, value in held.items()}]
    return thing


# --- the same procedure ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [FLAGSHIP, RUN, "deburr-cord-holes"])
def test_kept_procedure_is_the_one_that_was_read(folder: Path, name: str) -> None:
    """A procedure that was kept holds all that the one does that was read, to the last place and condition."""
    before = got(folder, name)
    after = loaded(folder, name)
    assert after is not None and after is not before
    for book, again in zip(before.family(), after.family(), strict=True):
        book.source.name = again.source.name = ""
    assert said(after) == said(before)
    assert [after.source.document.locate(edge.path) for edge in after.edges] == [
        before.place(*edge.path) for edge in before.edges
    ]
    assert b"tree" not in entry(folder, name).read_bytes(), "the tree, or a part of it, is kept"
    assert (after.source.text_hash, after.source.content_hash) == (before.text, before.content)


def test_parts_of_a_kept_procedure_are_one_thing_where_they_were(folder: Path) -> None:
    """What stands in two places of a procedure is one thing in a kept one too: a step, an event, a run."""
    got(folder)
    found = loaded(folder)
    assert found is not None
    assert all(found.steps[step.step] is step for step in found.procedure.steps)
    assert all(event in found.procedure.whenever for name in found.steps for event in found.events_at(name))
    assert {inner for _name, inner in found.asked()} == set(found.runs.values())


def test_kept_procedure_is_walked_alike(folder: Path) -> None:
    """Every example of a kept procedure goes as it does in the one that was read, and as it says."""
    before, after = got(folder, RUN), got(folder, RUN)
    assert after is not before and before.procedure.examples
    told = [said(run) for run in rehearse(before, compute)]
    assert [said(run) for run in rehearse(after, compute)] == told


def test_advice_of_a_kept_procedure_is_kept_with_it(folder: Path) -> None:
    """What was found when a procedure was read is found in the kept one, at the same places."""
    path = folder / f"{RUN}.yaml"
    path.write_text(path.read_text().replace("revision: ", "revision: 0", 1))
    findings = got(folder, RUN).findings
    assert findings, "nothing is found there any more; choose another example"
    after = loaded(folder, RUN)
    assert after is not None and after.findings == findings and list(after.source.findings) == findings


def test_unsound_procedure_is_never_kept(folder: Path) -> None:
    """A procedure with errors is read each time, and its faults are said each time."""
    path = folder / f"{RUN}.yaml"
    path.write_text(path.read_text().replace("\nsteps:", "\nsteps:\n  - step: nowhere\n    go: not-there", 1))
    for _ in range(2):
        with pytest.raises(Refused, match="there is no step 'not-there'"):
            got(folder, RUN)
        with pytest.raises(Refused):
            got(folder)
    linked = link(read(path.read_bytes(), "x"), lambda name: None)
    assert linked is not None
    kept.keep(linked)
    assert not procedures_cache().exists()


# --- another text, another program -----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", [FLAGSHIP, RUN])
def test_changed_text_is_read(folder: Path, name: str) -> None:
    """A change of a procedure, or of one that it runs, counts at once; and the former text finds its entry again."""
    got(folder)
    path = folder / f"{name}.yaml"
    data = path.read_bytes()
    path.write_bytes(data.replace(b"purpose: ", b"purpose: Now. ", 1))
    assert loaded(folder) is None
    book = next(book for book in got(folder).family() if book.id == name)
    assert book.procedure.purpose.startswith("Now. ")
    path.write_bytes(data)
    assert next(book for book in got(folder).family() if book.id == name).source.data == data


def test_run_that_lies_nearer_is_read(folder: Path, tmp_path: Path) -> None:
    """A procedure that is put beside the one that runs it is run from then on, and no other."""
    shop, far = tmp_path / "shop", tmp_path / "far"
    shop.mkdir()
    shutil.move(folder / f"{FLAGSHIP}.yaml", shop)
    folder.rename(far)
    library = [shop, far]
    text = (far / f"{RUN}.yaml").read_text()
    first = Library(library).get(FLAGSHIP)
    (shop / f"{RUN}.yaml").write_text(text.replace("purpose: ", "purpose: Nearer. ", 1))
    second = Library(library).get(FLAGSHIP)
    purposes = [[b.procedure.purpose for b in f.family() if b.id == RUN] for f in (first, second)]
    assert [said[0].startswith("Nearer. ") for said in purposes] == [False, True]


def test_run_that_is_gone_is_missed(folder: Path) -> None:
    """Where a procedure that is run is no longer there, that is said as it is without any entry."""
    got(folder)
    (folder / f"{RUN}.yaml").unlink()
    assert loaded(folder) is None
    with pytest.raises(Refused, match=f"there is no procedure '{RUN}'"):
        got(folder)


@pytest.mark.parametrize("file", ["procedure/link_ways.py", "quantities.py", "kept.py", "kept_files.py"])
def test_changed_program_reads_anew(folder: Path, program: Path, file: str) -> None:
    """After any change of the code that reads and links, by one byte, no entry of before counts."""
    got(folder)
    kept._program.cache_clear()
    assert loaded(folder) is not None
    with open(program / file, "a") as code:
        code.write("\n")
    kept._program.cache_clear()
    assert loaded(folder) is None
    got(folder)
    assert loaded(folder) is not None


def test_program_without_its_files_keeps_nothing(folder: Path, program: Path) -> None:
    """Where the program cannot see its own files, procedures are read each time."""
    shutil.rmtree(program)
    got(folder)
    assert loaded(folder) is None and got(folder).sound


# --- damage ----------------------------------------------------------------------------------------------------------


def _cut(file: Path) -> None:
    file.write_bytes(file.read_bytes()[:-1])


def _flip(file: Path) -> None:
    data = bytearray(file.read_bytes())
    data[len(data) // 2] ^= 1
    file.write_bytes(data)


def _sealed(data: bytes) -> Callable[[Path], None]:
    return lambda file: file.write_bytes(kept_files._seal(data, kept._program()) + data) and None


def _folder_instead(file: Path) -> None:
    file.unlink()
    file.mkdir()


def _pipe(file: Path) -> None:
    file.unlink()
    os.mkfifo(file, 0o600)


def _linked_to(file: Path) -> None:
    file.rename(file.with_name("elsewhere"))
    file.symlink_to("elsewhere")


DAMAGE: dict[str, Callable[[Path], Any]] = {
    "cut": _cut,
    "flipped": _flip,
    "empty": lambda file: file.write_bytes(b""),
    "garbage": lambda file: file.write_bytes(b"\x80\x05garbage" * 99),
    "only a seal": _sealed(b""),
    "sealed garbage": _sealed(b"\x80\x05garbage"),
    "another class": _sealed(pickle.dumps({"a": [1]})),
    "a function": _sealed(b"cbenchwalk.procedure.read\nread\n."),
    "a folder": _folder_instead,
    "a pipe": _pipe,
    "a link": _linked_to,
    "written by others": lambda file: file.chmod(0o622),
    "written by a group": lambda file: file.chmod(0o620),
    "folder of others": lambda file: file.parent.chmod(0o777),
    "gone": lambda file: file.unlink(),
}


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE)
def test_damage_means_reading(folder: Path, damage: Callable[[Path], Any]) -> None:
    """An entry that is damaged, or that anybody else could have written, counts as none; the procedure is there."""
    before = said(got(folder).procedure)
    assert loaded(folder) is not None
    damage(entry(folder))
    assert loaded(folder) is None
    assert said(got(folder).procedure) == before


def test_entry_of_another_user_does_not_count(folder: Path) -> None:
    """An entry, or a folder of entries, that belongs to somebody else is not opened."""
    if os.geteuid():
        pytest.skip("only root can give a file away")
    got(folder)
    for path in (entry(folder), procedures_cache()):
        os.chown(path, 12345, -1)
        assert loaded(folder) is None
        os.chown(path, 0, -1)
        assert loaded(folder) is not None


def _made(module: str, name: str, *given: str) -> bytes:
    """A pickle that calls something with some texts."""
    short = [b"\x8c" + bytes([len(text)]) + text.encode() for text in (module, name, *given)]
    return b"\x80\x04" + short[0] + short[1] + b"\x93(" + b"".join(short[2:]) + b"tR."


@pytest.mark.parametrize(
    "called",
    [
        ("posix", "mkdir"),
        ("_io", "FileIO", "w"),
        ("benchwalk.procedure.fields", "re.enum.sys.__stdin__.buffer.raw.__class__", "w"),
    ],
    ids=["a function", "a class", "a class behind a part"],
)
def test_nothing_is_made_that_is_no_part_of_a_procedure(folder: Path, tmp_path: Path, called: tuple[str, ...]) -> None:
    """A pickle that would do something does nothing, even one with the right seal."""
    got(folder)
    module, name, *more = called
    data = _made(module, name, os.fspath(tmp_path / "done"), *more)
    _sealed(data)(entry(folder))
    assert loaded(folder) is None
    assert not (tmp_path / "done").exists()
    made = pickle.loads(data)
    assert (tmp_path / "done").exists(), f"it would not have done anything anyway: {made}"


# --- the folder ------------------------------------------------------------------------------------------------------


def test_entries_are_for_their_user_alone(folder: Path) -> None:
    """Nobody else can read or write what is kept."""
    got(folder)
    assert (entry(folder).stat().st_mode & 0o777, procedures_cache().stat().st_mode & 0o777) == (0o600, 0o700)


def test_folder_of_others_is_not_written_to(folder: Path) -> None:
    """Where others can write in the folder nothing is kept in it."""
    procedures_cache().mkdir(parents=True)
    procedures_cache().chmod(0o777)
    assert got(folder).sound and os.listdir(procedures_cache()) == []


def test_cache_that_cannot_be_written_changes_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is no folder for entries, no room for one, or no home, procedures are read, and nothing is left."""
    cache = procedures_cache()
    cache.parent.mkdir(parents=True)
    cache.write_text("a file")
    assert got(folder).sound and cache.read_text() == "a file"
    cache.unlink()
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, limits[1]))
    try:
        assert got(folder).sound and os.listdir(cache) == []
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    cache.rmdir()
    with monkeypatch.context() as patch:
        patch.setenv("HOME", "nowhere")
        patch.setenv("XDG_CACHE_HOME", "")
        assert got(folder).sound
    got(folder)
    assert os.listdir(cache) == [entry(folder).name]


def test_oldest_entries_go(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No more than so many entries are kept; the oldest go first, and what a crash left goes too."""
    monkeypatch.setattr(kept_files, "MOST", 3)
    path = folder / f"{RUN}.yaml"
    text = path.read_text()
    files = []
    procedures_cache().mkdir(parents=True, mode=0o700)
    (procedures_cache() / ".x.kept.1.new").write_text("half")
    os.utime(procedures_cache() / ".x.kept.1.new", (1, 1))
    for number in range(5):
        path.write_text(f"{text}# {number}\n")
        got(folder, RUN)
        files.append(entry(folder, RUN))
        os.utime(files[-1], (number + 2, number + 2))
    assert sorted(procedures_cache().iterdir()) == sorted(files[2:])


# --- jobs ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with three people."""
    return fresh_shop(tmp_path)


def test_job_has_what_was_kept_as_what_is_read(shop: Shop) -> None:
    """The procedures of a job are the same whether they were kept or are read from the job's own texts."""
    with begin(shop, Library.of(shop.root).get(FLAGSHIP)) as session:
        state, folder = session.state, session.folder
    from_kept = Books(folder, state.texts)(state.text)
    shutil.rmtree(procedures_cache())
    from_text = Books(folder, state.texts)(state.text)
    assert (from_kept.source.tree is None, from_text.source.tree is None) == (True, False)
    assert said(from_kept) == said(from_text)
    assert [book.source.name for book in from_kept.family()] == [book.source.name for book in from_text.family()]
    shutil.rmtree(folder.texts)
    with pytest.raises(Failure, match="cannot be read"):
        Books(folder, state.texts)(state.text)


def test_text_of_a_job_that_was_changed_is_refused_all_the_same(shop: Shop) -> None:
    """That a procedure was kept hides no damage to the text that a job keeps of it."""
    with begin(shop, Library.of(shop.root).get(FLAGSHIP)) as session:
        job, text = session.state.job, session.state.text
        path = session.folder.texts / f"{text}.yaml"
    path.chmod(0o600)
    path.write_bytes(path.read_bytes() + b"\n")
    with pytest.raises(Failure, match="changed after it was kept"):
        resume(shop, job)
