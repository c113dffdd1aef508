"""A shop's folder: begun, opened, listed, read-only, broken; its jobs, texts, files and owners; where it all lies."""

from __future__ import annotations

import hashlib
import os
import stat
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchwalk.errors import BenchwalkError, Failure, Refused, UsageError
from benchwalk.job import words
from benchwalk.job.disk import OsDisk
from benchwalk.job.folder import JobFolder, file_path, keep_file, load_text, pin_text
from benchwalk.job.line import LONGEST
from benchwalk.job.log import JobLog
from benchwalk.job.owner import keep_owner, owner, owner_matches, remove_owner
from benchwalk.job.shop import Shop
from benchwalk.job.yamlfile import map_of, quoted
from benchwalk.paths import file_system, network_warning, shop_cache, shop_folder, user_folder, where
from benchwalk.procedure.yaml_text import bad_character
from test_log import ADA, body, written

SALT = bytes(range(16))


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A new shop."""
    return Shop.create(tmp_path / "shop", "The back room")


# --- the shop ------------------------------------------------------------------------------------------------------


def test_new_shop_opens_with_its_defaults(tmp_path: Path) -> None:
    """A shop begun with a name, however strange, opens with that name, seniors in charge, and no jobs."""
    for number, name in enumerate(['Bo\'s "Drums": yes #1', "太鼓屋 ½", "no", "{{x}}", "- [a"]):
        made = Shop.create(tmp_path / str(number), name)
        again = Shop.open(made.root)
        assert again == made and again.name == name
        assert (again.one_person, again.override_role, again.approve_role, again.language) == (
            False,
            "senior",
            "senior",
            "en",
        )
        assert again.jobs() == [] and list(again.glances()) == []
    assert Shop.create(tmp_path / "alone", "One", one_person=True).one_person


def test_shop_is_not_begun_twice(shop: Shop) -> None:
    """A second beginning in the same folder is refused and changes nothing."""
    before = (shop.root / "shop.yaml").read_bytes()
    with pytest.raises(Refused, match="a shop here already"):
        Shop.create(shop.root, "Another")
    assert (shop.root / "shop.yaml").read_bytes() == before


def test_settings_are_read_as_written(shop: Shop) -> None:
    """Roles, the one-person policy and the folders for new pictures come from shop.yaml."""
    (shop.root / "shop.yaml").write_text(
        'name: N\none_person: "yes"\noverride_role: master\napprove_role: owner\nlanguage: de\npictures: /srv/pics\n'
    )
    read = Shop.open(shop.root)
    assert (read.one_person, read.override_role, read.approve_role) == (True, "master", "owner")
    assert (read.language, read.pictures, read.recordings) == ("de", "/srv/pics", None)


@pytest.mark.parametrize(
    ("text", "place", "why"),
    [
        ("name: [", ":1:7", "cannot be understood"),
        ("", ":1:1", "nothing is written in this file"),
        ("- a\n", "", "holds no keys"),
        ("one_person: true\n", ":1:1", "'name' is missing"),
        ("name: N\none_person: maybe\n", ":2:13", "true or false is expected"),
        ("name: N\nnames: M\n", ":2:1", "'names' is no setting of a shop"),
        ("name: N\nname: M\n", ":2:1", "cannot be understood"),
        ("name: N\napprove_role: Big Boss\n", ":2:15", "cannot be a role"),
        ("name: {a: b}\n", ":1:7", "'name' needs a text"),
        (b"\xff\xfe", "", "cannot be understood"),
    ],
)
def test_broken_settings_are_one_sentence_with_their_place(shop: Shop, text: str | bytes, place: str, why: str) -> None:
    """Whatever is wrong with shop.yaml is told in one sentence with file, line and column."""
    path = shop.root / "shop.yaml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    with pytest.raises(Failure, match=why) as failure:
        Shop.open(shop.root)
    assert str(failure.value).startswith(f"{path}{place}") and "\n" not in str(failure.value)


def test_no_shop_is_one_sentence(tmp_path: Path) -> None:
    """A folder that is not there, or is no shop, is a wrong command, said in one sentence with the folder."""
    for path in (tmp_path / "gone", tmp_path):
        with pytest.raises(UsageError) as error:
            Shop.open(path)
        assert str(path) in str(error.value) and error.value.exit_code == 2
    (tmp_path / "file").write_text("x")
    with pytest.raises(BenchwalkError):
        Shop.create(tmp_path / "file", "N")
    with pytest.raises(Failure, match="cannot be begun here"):
        Shop.create(tmp_path / "file" / "below", "N")


READER = """
import os, sys
from benchwalk.errors import BenchwalkError
from benchwalk.job.audit import audit
from benchwalk.job.log import JobLog, read
from benchwalk.job.people import load_people
from benchwalk.job.shop import Shop
sys.path.insert(0, sys.argv[2])
from test_log import ADA, body
Shop.open(sys.argv[1])  # so that all is loaded that is loaded late
if not os.geteuid():
    os.setgid(65534)
    os.setuid(65534)
shop = Shop.open(sys.argv[1])
log = shop.job("J-0001").log
print(shop.jobs(), [g.last["n"] for g in shop.glances()], len(read(log).events), audit(shop)[0]["ok"])
for attempt in (
    lambda: JobLog.open(log, ADA),
    lambda: shop.new_job(),
    lambda: Shop.create(shop.root / "x", "N"),
):
    try:
        attempt()
    except BenchwalkError as error:
        print(type(error).__name__, error.message)
"""


def test_shop_that_may_only_be_read_can_be_read() -> None:
    """Somebody who may not write sees jobs, logs and audit; each try to write is one sentence."""
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        made = Shop.create(Path(folder) / "shop", "N")
        written(made.new_job().log, 3)
        inside = sorted(made.root.rglob("*"))
        for path in (made.root, *inside):
            os.chmod(path, 0o555 if path.is_dir() else 0o444)
        try:
            command = [sys.executable, "-c", READER, str(made.root), str(Path(__file__).parent)]
            ran = subprocess.run(command, capture_output=True, text=True)
        finally:
            for path in (made.root, *inside):
                os.chmod(path, 0o755)
    assert ran.stdout.splitlines() == [
        "['J-0001'] [3] 3 True",
        "Failure the log cannot be opened for writing: this account may not do that here",
        "Failure a job cannot be begun: this account may not do that here",
        "Failure a shop cannot be begun here: this account may not do that here",
    ], ran.stderr


# --- jobs ----------------------------------------------------------------------------------------------------------


def test_jobs_are_numbered_and_never_given_twice(shop: Shop) -> None:
    """Jobs get the number after the highest; an id handed in is taken as it is, once; gaps are not filled."""
    assert [shop.new_job().id for _ in range(3)] == ["J-0001", "J-0002", "J-0003"]
    assert shop.new_job("Repair.7_b").id == "Repair.7_b"
    os.rename(shop.job("J-0002").path, shop.root / "elsewhere")
    assert shop.new_job().id == "J-0004"
    (shop.jobs_folder / "J-9999").mkdir()
    assert shop.new_job().id == "J-10000"
    with pytest.raises(Refused, match="a job J-0001 already"):
        shop.new_job("J-0001")
    (shop.jobs_folder / ".hidden").mkdir()
    (shop.jobs_folder / "notes.txt").write_text("x")
    assert shop.jobs() == ["J-0001", "J-0003", "J-0004", "J-9999", "J-10000", "Repair.7_b"]


MAKER = """
import sys
from benchwalk.job.shop import Shop
shop = Shop.open(sys.argv[1])
print("ready", flush=True)
sys.stdin.readline()
print(*(shop.new_job().id for _ in range(40)))
"""


def test_two_programs_never_get_the_same_job(shop: Shop) -> None:
    """Two processes that make jobs at once get different ones, all of them."""
    command = [sys.executable, "-c", MAKER, str(shop.root)]
    makers = [subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) for _ in range(2)]
    for maker in makers:
        assert maker.stdout is not None and maker.stdout.readline() == "ready\n"
    for maker in makers:
        assert maker.stdin is not None
        maker.stdin.write("\n")
        maker.stdin.flush()
    ids = [name for maker in makers for name in maker.communicate()[0].split()]
    assert sorted(ids) == shop.jobs() == [f"J-{n:04}" for n in range(1, 81)]


@pytest.mark.parametrize(
    "bad",
    ["", ".", "..", "../x", "a/b", "a\\b", "-x", ".x", "x.", "a..b", "a b", "ä", "x\n", "x\0", "J" * 65, "~", "a:b"],
)
def test_text_that_could_lead_elsewhere_is_no_job(shop: Shop, bad: str) -> None:
    """What could leave the folder of jobs, or mean something to a shell or another system, is refused as an id."""
    for attempt in (shop.new_job, shop.job):
        with pytest.raises(Refused, match="cannot be a job's id"):
            attempt(bad)
    assert os.listdir(shop.jobs_folder) == []


@given(st.text(max_size=12))
def test_accepted_ids_and_endings_are_plain_names(text: str) -> None:
    """Whatever is typed: what is accepted as an id, a role, an ending or a hash is one plain name in ASCII."""
    for check in (words.job_id, words.person_id, words.role, words.ending, words.digest):
        try:
            taken = check(text)
        except Refused:
            continue
        assert taken.isascii() and taken == os.path.basename(taken) and taken not in ("", ".", "..")
        assert taken[0].isalnum() and not set(taken) & set(" /\\:\0\n~$*?'\"")


def test_glance_reads_the_first_and_the_last_event(shop: Shop) -> None:
    """The list of jobs shows what each began with and did last, for short, long, cut short, damaged and empty logs."""
    names = ["one", "many", "long", "torn", "damaged", "empty", "bare"]
    jobs = {name: shop.new_job(name) for name in names}
    written(jobs["one"].log, 1)
    written(jobs["many"].log, 200)
    with JobLog.open(jobs["long"].log, ADA) as log:
        log.append([body(1, text="x" * 300_000), body(2, text="y" * (LONGEST - 1000)), body(3, text="z" * 70_000)])
    written(jobs["torn"].log, 3)
    jobs["torn"].log.write_bytes(jobs["torn"].log.read_bytes()[:-1])
    written(jobs["damaged"].log, 3)
    jobs["damaged"].log.write_bytes(jobs["damaged"].log.read_bytes().replace(b"event 3", b"event 4"))
    jobs["empty"].log.touch()
    seen = {glance.job: glance for glance in shop.glances()}
    assert list(seen) == sorted(names)
    ends = {name: (g.first["n"], g.last["n"]) for name, g in seen.items() if g.first and g.last}
    assert ends == {"one": (1, 1), "many": (1, 200), "long": (1, 3), "torn": (1, 2)}
    assert {name: g.why for name, g in seen.items() if g.why} == {
        "damaged": "the last line of the log is damaged",
        "empty": "nothing was written yet",
        "bare": "nothing was written yet",
    }


def test_glance_does_not_read_the_middle(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """A glance at a long log reads a few kilobytes of it, whatever its length."""
    job = shop.new_job()
    with JobLog.open(job.log, ADA) as log:
        log.append([body(n, text="x" * 100) for n in range(1, 5001)])
    real, taken = os.pread, []

    def counting(fd: int, count: int, at: int) -> bytes:
        data = real(fd, count, at)
        taken.append(len(data))
        return data

    monkeypatch.setattr(os, "pread", counting)
    [glance] = shop.glances()
    assert glance.last is not None and glance.last["n"] == 5000
    assert sum(taken) < 50_000 < job.log.stat().st_size


# --- texts and files -----------------------------------------------------------------------------------------------


def test_text_is_pinned_byte_for_byte(shop: Shop) -> None:
    """A procedure's text comes back exactly as it was kept, by the hash of its bytes; keeping it twice is once."""
    job = shop.new_job()
    for data in (b"", b"procedure: x\r\n\xef\xbb\xbf", bytes(range(256))):
        name = pin_text(job, data)
        assert name == hashlib.sha256(data).hexdigest() == pin_text(job, data)
        assert load_text(job, name) == data
    assert len(os.listdir(job.texts)) == 3


def test_text_that_was_changed_or_lost_is_not_used(shop: Shop) -> None:
    """A pinned text that is not what was kept is never handed out; pinning it again mends it."""
    job = shop.new_job()
    name = pin_text(job, b"procedure: x\n")
    (job.texts / f"{name}.yaml").write_bytes(b"procedure: y\n")
    with pytest.raises(Failure, match="was changed after it was kept"):
        load_text(job, name)
    assert pin_text(job, b"procedure: x\n") == name and load_text(job, name) == b"procedure: x\n"
    (job.texts / f"{name}.yaml").unlink()
    with pytest.raises(Failure, match="it is not there"):
        load_text(job, name)
    for bad in ("", "../../people", "A" * 64, "0" * 63, "0" * 64 + "\n"):
        with pytest.raises(Refused, match="is no hash"):
            load_text(job, bad)


def test_file_is_kept_by_hash_under_a_checked_name(shop: Shop, tmp_path: Path) -> None:
    """A recording is copied whole under its hash; its own name never becomes a path, and a bad ending is refused."""
    job = shop.new_job()
    data = os.urandom(3_000_000)
    source = tmp_path / "; rm -rf *.WAV"
    source.write_bytes(data)
    name = keep_file(job, source)
    assert name == f"{hashlib.sha256(data).hexdigest()}.wav" == keep_file(job, source)
    assert file_path(job, name).read_bytes() == data and os.listdir(job.files) == [name]
    (tmp_path / "x.w$v").write_bytes(b"x")
    with pytest.raises(Refused, match="cannot be a file's ending"):
        keep_file(job, tmp_path / "x.w$v")
    with pytest.raises(Failure, match="it is not there"):
        keep_file(job, tmp_path / "gone.wav")
    for bad in ("../../people.yaml", f"{name}/..", "x.wav", name.replace(".wav", "./etc"), name + ".."):
        with pytest.raises(Refused):
            file_path(job, bad)
    assert os.listdir(job.files) == [name]


def test_full_disk_leaves_no_part_of_a_text_or_file(shop: Shop, tmp_path: Path) -> None:
    """Where there is no space, keeping a text or file fails in one sentence and leaves nothing half there."""

    class Full(OsDisk):
        def write(self, fd: int, data: bytes) -> int:
            raise OSError(28, "No space left on device")

        def fsync(self, fd: int) -> None:
            raise OSError(28, "No space left on device")

    job = shop.new_job()
    (tmp_path / "a.wav").write_bytes(b"x")
    with pytest.raises(Failure, match="no space is left on the disk"):
        pin_text(job, b"x", Full())
    with pytest.raises(Failure, match="no space is left on the disk"):
        keep_file(job, tmp_path / "a.wav", Full())
    with pytest.raises(Failure, match="no space is left on the disk"):
        keep_owner(job, {"name": "Bo"}, SALT, Full())
    assert os.listdir(job.texts) == os.listdir(job.files) == [] and not job.owner.exists()


# --- owners --------------------------------------------------------------------------------------------------------


def test_owner_is_kept_apart_matched_and_removed(shop: Shop) -> None:
    """Personal facts come back as given, match the hash for the log, and are gone after removal."""
    job = shop.new_job()
    facts = {"name": 'Bo "Sticks" Ferris: yes', "contact": "12 Mill Lane\nback door # ring"}
    digest = keep_owner(job, facts, SALT)
    assert owner(job) == facts
    assert owner_matches(job, digest) is True and owner_matches(job, "0" * 64) is False
    assert stat.S_IMODE(job.owner.stat().st_mode) == 0o600
    assert remove_owner(job) is True and remove_owner(job) is False
    assert owner(job) is None and owner_matches(job, digest) is None


def test_hash_of_an_owner_cannot_be_guessed_without_its_salt(shop: Shop) -> None:
    """The same facts with another salt have another hash, and a short salt is not taken."""
    job = shop.new_job()
    assert keep_owner(job, {"name": "Bo"}, SALT) != keep_owner(job, {"name": "Bo"}, bytes(16))
    assert keep_owner(job, {"name": "Bo", "contact": ""}, SALT) == keep_owner(job, {"contact": "", "name": "Bo"}, SALT)
    with pytest.raises(ValueError, match="too short"):
        keep_owner(job, {"name": "Bo"}, b"short")


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        ({"salt": "x"}, "cannot be called 'salt'"),
        ({"Name!": "x"}, "cannot be a role"),
        ({"name": "a\x1b]0;t\x07"}, "an escape character"),
        ({"name": "x" * 2001}, "at most 2000"),
    ],
)
def test_what_cannot_be_an_owners_fact_is_refused(shop: Shop, facts: dict[str, str], why: str) -> None:
    """Facts that could not be read back or shown are refused before anything is written."""
    job = shop.new_job()
    with pytest.raises(Refused, match=why):
        keep_owner(job, facts, SALT)
    assert not job.owner.exists()


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40))
def test_quoted_text_reads_back_as_it_was(text: str) -> None:
    """Any text without forbidden characters, written in our quotes, reads back the same."""
    if not bad_character(text):
        assert map_of(f"key: {quoted(text)}\n".encode(), "x.yaml", "x")["key"] == text


# --- where it all lies ---------------------------------------------------------------------------------------------


def test_shop_is_chosen_by_option_then_environment_then_home(tmp_path: Path) -> None:
    """--shop wins over the environment, which wins over the user's data folder; all are made absolute."""
    home = {"HOME": str(tmp_path)}
    both = {**home, "BENCHWALK_SHOP": "/srv/shop"}
    assert shop_folder("/a/b/../c", both) == Path("/a/c")
    assert shop_folder(None, both) == Path("/srv/shop")
    assert shop_folder(None, {**both, "BENCHWALK_SHOP": " "}) == shop_folder(None, home)
    assert shop_folder("here", home) == Path.cwd() / "here"
    with pytest.raises(UsageError):
        shop_folder(" ", home)


def test_user_folders_follow_the_systems_convention(tmp_path: Path) -> None:
    """XDG variables count when absolute; without them, and on macOS, the system's own places below home."""
    home = {"HOME": "/h"}
    assert user_folder("data", home, "linux") == Path("/h/.local/share/benchwalk")
    assert user_folder("cache", home, "linux") == Path("/h/.cache/benchwalk")
    assert user_folder("data", {**home, "XDG_DATA_HOME": "/d"}, "linux") == Path("/d/benchwalk")
    assert user_folder("data", {**home, "XDG_DATA_HOME": "d"}, "linux") == Path("/h/.local/share/benchwalk")
    assert user_folder("data", home, "darwin") == Path("/h/Library/Application Support/benchwalk")
    assert user_folder("cache", home, "darwin") == Path("/h/Library/Caches/benchwalk")


def test_caches_of_shops_are_kept_apart_by_real_path(tmp_path: Path) -> None:
    """Each shop has a cache of its own, the same however its path is written."""
    (tmp_path / "a").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "a")
    env = {"HOME": str(tmp_path)}
    assert shop_cache(tmp_path / "a", env) == shop_cache(tmp_path / "link", env) != shop_cache(tmp_path / "b", env)
    assert not shop_cache(tmp_path / "a", env).exists()


def test_where_names_every_file_a_shop_uses(tmp_path: Path) -> None:
    """`where` lists the places really used by a shop at work, and how the shop was chosen."""
    env = {"HOME": str(tmp_path), "BENCHWALK_SHOP": str(tmp_path / "shop")}
    told = where(None, env)
    made = Shop.create(tmp_path / "shop", "N")
    assert told["shop chosen by"] == "$BENCHWALK_SHOP" and where("/x", env)["shop chosen by"] == "--shop"
    assert where(None, {"HOME": "/h"})["shop chosen by"] == "the user's data folder"
    assert told["shop settings"] == str(made.root / "shop.yaml") and told["jobs"] == str(made.jobs_folder)
    assert {str(path) for path in made.root.iterdir()} <= set(told.values())


MOUNTS = r"""/dev/vda / ext4 rw 0 0
server:/srv /mnt nfs4 rw 0 0
//nas/share /mnt/with\040blank cifs rw 0 0
/dev/sdb /mnt/local xfs rw 0 0
tmpfs /over tmpfs rw 0 0
me@host: /over fuse.sshfs rw 0 0
C: /mnt/c 9p rw 0 0
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/shops/a", "ext4"),
        ("/mnt/shop", "nfs4"),
        ("/mnt", "nfs4"),
        ("/mntx", "ext4"),
        ("/mnt/with blank/shop", "cifs"),
        ("/mnt/local/shop", "xfs"),
        ("/over/shop", "fuse.sshfs"),
        ("/mnt/c/shop", "9p"),
    ],
)
def test_network_folders_are_warned_about(folder: str, kind: str) -> None:
    """The kind of file system is that of the deepest and latest mount; only shared ones are warned about."""
    assert file_system(Path(folder), MOUNTS) == kind
    warning = network_warning(Path(folder), MOUNTS)
    assert (warning is None) == (kind in ("ext4", "xfs"))
    if warning:
        assert folder in warning and kind in warning


def test_unknown_file_system_is_not_warned_about() -> None:
    """Where nothing is known of mounts, nothing is said."""
    assert network_warning(Path("/x"), "") is None and network_warning(Path("/x"), "rubbish\n") is None


def test_folder_of_a_job_is_plain_data(tmp_path: Path) -> None:
    """A job's folder knows its places without touching the disk."""
    job = JobFolder("J-0001", tmp_path / "J-0001")
    assert [p.name for p in (job.log, job.texts, job.files, job.owner)] == ["log.jsonl", "texts", "files", "owner.yaml"]
    assert not job.path.exists()
