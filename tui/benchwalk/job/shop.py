"""A shop: a folder with its settings, its people, its procedures and its jobs."""

from __future__ import annotations

import contextlib
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from ..errors import Failure, Refused, UsageError
from . import words
from .disk import DISK, Disk, said, sync_folder, write_new
from .folder import JobFolder
from .glance import Glance, glance

KEYS = ("name", "one_person", "override_role", "approve_role", "language", "pictures", "recordings")
_TRUTH = {"true": True, "yes": True, "false": False, "no": False}
_WHAT = "the shop's settings"
_NUMBERED = re.compile(r"J-(\d{4,9})")


@dataclass(frozen=True, slots=True)
class Shop:
    """A shop's folder and what its `shop.yaml` says.

    `override_role` is the role that may take another way than the procedure's, `approve_role` the one that approves
    procedures; `pictures` and `recordings` are folders where new ones arrive, if the shop says so. In a shop of one
    person what asks for a second one is done by the same hand, and printed as such.
    """

    root: Path
    name: str
    one_person: bool = False
    override_role: str = "senior"
    approve_role: str = "senior"
    language: str = "en"
    pictures: str | None = None
    recordings: str | None = None

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> Shop:
        """The shop in a folder; only read, so a read-only one will do. Raises UsageError if there is none, Failure."""
        from .yamlfile import place, read_map, text_at  # only now: the bench may know the settings already

        root = Path(os.path.abspath(path))
        file = os.fspath(root / "shop.yaml")
        if not root.is_dir():
            raise UsageError("there is no shop here; name another folder with --shop, or begin one", os.fspath(root))
        if not os.path.lexists(file):
            raise UsageError("this folder is no shop: it holds no shop.yaml", os.fspath(root))
        fields = read_map(file, _WHAT)
        for key in fields:
            if key not in KEYS:
                known = ", ".join(KEYS)
                pos = fields.key_at(key)
                raise Failure(f"'{key}' is no setting of a shop; known are {known}", f"{file}:{pos.line}:{pos.column}")
        one = text_at(fields, "one_person", file, "false").lower()
        if one not in _TRUTH:
            raise Failure(f"'one_person' is '{one}'; true or false is expected", place(fields, "one_person", file))
        roles: dict[str, str] = {}
        for key in ("override_role", "approve_role"):
            try:
                roles[key] = words.role(text_at(fields, key, file, "senior"))
            except Refused as error:
                raise Failure(error.message, place(fields, key, file)) from None
        return cls(
            root,
            text_at(fields, "name", file),
            _TRUTH[one],
            roles["override_role"],
            roles["approve_role"],
            text_at(fields, "language", file, "en"),
            text_at(fields, "pictures", file, "") or None,
            text_at(fields, "recordings", file, "") or None,
        )

    @classmethod
    def create(cls, path: str | os.PathLike[str], name: str, *, one_person: bool = False, disk: Disk = DISK) -> Shop:
        """Begin a shop in a folder that holds none yet. Raises Refused, Failure."""
        from .yamlfile import quoted

        root = Path(os.path.abspath(path))
        called = words.one_line(name, "the shop's name")
        text = (
            f"name: {quoted(called)}\n"
            f"one_person: {'true' if one_person else 'false'}\n"
            "override_role: senior # may take another way than a procedure's, with a reason\n"
            "approve_role: senior # approves procedures for use on customers' jobs\n"
            "language: en\n"
        )
        try:
            root.mkdir(parents=True, exist_ok=True)
            for below in ("procedures", "jobs"):
                (root / below).mkdir(exist_ok=True)
            write_new(os.fspath(root / "shop.yaml"), text.encode(), 0o644, disk)
        except FileExistsError:
            raise Refused("there is a shop here already, or a file where its folder should be", str(root)) from None
        except OSError as error:
            raise Failure(f"a shop cannot be begun here: {said(error)}", os.fspath(root)) from None
        return cls.open(root)

    @property
    def procedures(self) -> Path:
        """The shop's own procedures."""
        return self.root / "procedures"

    @property
    def jobs_folder(self) -> Path:
        """The folder that holds a folder for each job."""
        return self.root / "jobs"

    def jobs(self) -> list[str]:
        """The ids of all jobs, oldest number first. Raises Failure."""
        try:
            with os.scandir(self.jobs_folder) as entries:
                names = [entry.name for entry in entries if entry.is_dir()]
        except FileNotFoundError:
            return []
        except OSError as error:
            raise Failure(f"the jobs cannot be listed: {said(error)}", os.fspath(self.jobs_folder)) from None
        return sorted(filter(_is_job, names), key=by_number)

    def glances(self) -> Iterator[Glance]:
        """What each job began with and did last, from its folder alone: no index, no lock, two reads a job."""
        for name in self.jobs():
            yield glance(JobFolder(name, self.jobs_folder / name))

    def job(self, name: str) -> JobFolder:
        """The folder of a job that is there; `j-1` is J-0001 where no other is like it. Raises Refused, Failure."""
        folder = JobFolder(words.job_id(name), self.jobs_folder / name)
        if folder.path.is_dir():
            return folder
        alike = [job for job in self.jobs() if _plain(job) == _plain(name)]
        if len(alike) == 1:
            return JobFolder(alike[0], self.jobs_folder / alike[0])
        more = f"; {' and '.join(alike)} are alike" if alike else ""
        raise Refused(f"there is no job {name} in this shop{more}", os.fspath(self.root))

    def new_job(self, name: str | None = None, disk: Disk = DISK) -> JobFolder:
        """Make the folder of a new job, under the next free number or the id given. Raises Refused, Failure.

        Two programs never get the same one: whoever makes the folder has it.
        """
        wanted = words.job_id(name) if name is not None else ""
        try:
            wanted = wanted or self._next()
            self.jobs_folder.mkdir(exist_ok=True)
            while True:
                path = self.jobs_folder / wanted
                try:
                    path.mkdir()
                    break
                except FileExistsError:
                    if name is not None:
                        raise Refused(f"there is a job {name} already", os.fspath(self.root)) from None
                    wanted = f"J-{int(wanted[2:]) + 1:04}"
            for below in ("texts", "files"):
                (path / below).mkdir()
            sync_folder(os.fspath(path), disk)
            sync_folder(os.fspath(self.jobs_folder), disk)
        except OSError as error:
            raise Failure(f"a job cannot be begun: {said(error)}", os.fspath(self.jobs_folder)) from None
        return JobFolder(wanted, path)

    def _next(self) -> str:
        last = 0
        with contextlib.suppress(FileNotFoundError):
            for entry in os.listdir(self.jobs_folder):
                if match := _NUMBERED.fullmatch(entry):
                    last = max(last, int(match[1]))
        return f"J-{last + 1:04}"


def _is_job(name: str) -> bool:
    try:
        words.job_id(name)
    except Refused:
        return False
    return True


def _plain(name: str) -> str:
    """A job's id without what is easily typed otherwise: case, and zeros before a number."""
    match = re.fullmatch(r"(?:J-?)?0*([0-9]{1,9})", name.upper())
    return f"J-{int(match[1])}" if match else name.casefold()


def by_number(name: str) -> tuple[int, int, str]:
    """A key that sorts jobs by their numbers, those called otherwise last."""
    match = _NUMBERED.fullmatch(name)
    return (0, int(match[1]), name) if match else (1, 0, name)
