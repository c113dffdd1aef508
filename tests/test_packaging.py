"""What is built and shipped: the wheel, the source archive and the editable install all carry the procedures.

Most need no network: they build with the hatchling of the test environment and install into bare environments that
borrow its libraries. Others install from the package index, as a user does, and run the everyday suite from the
unpacked source archive.
"""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import tarfile
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

from house import MACHINE, PACKAGE, ROOT, belonging, modules, need, shown

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
FULL_NAME = f"{PROJECT['name']}-{PROJECT['version']}"
WHERE = "import benchwalk, benchwalk.data as d; print(benchwalk.__file__, d.shipped_folder(), *d.shipped_procedures())"
KINDS = ("wheel", "sdist", "editable")
pytestmark = pytest.mark.heavy


def run(*command: str | Path, cwd: Path, network: bool = False) -> str:
    """Output of a command that has to succeed; with `network`, in the person's own environment (proxies, caches)."""
    ours = ("PYTEST", "PYTHONPATH")
    environment = {k: v for k, v in (MACHINE if network else os.environ).items() if not k.startswith(ours)}
    ran = subprocess.run([str(c) for c in command], cwd=cwd, env=environment, capture_output=True, text=True)
    assert ran.returncode == 0, f"{command}\n{ran.stdout}\n{ran.stderr}"
    return ran.stdout


def procedure_names() -> set[str]:
    """File names of the procedures in the repository."""
    return {path.name for path in belonging() if shown(path).startswith("procedures/")}


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The source archive, the wheel built from that archive, and the clone for an editable install."""
    out = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", out, ROOT, cwd=out)
    [sdist], [wheel] = out.glob("*.tar.gz"), out.glob("*.whl")
    return {"sdist": sdist, "wheel": wheel, "editable": ROOT}


def bare_environment(folder: Path) -> Path:
    """The interpreter of a new environment that has no Benchwalk but can import the libraries of this one.

    They come by one line of a path file, which does not read the path files there: this environment's own editable
    install stays out of sight.
    """
    venv.create(folder, with_pip=False, symlinks=True)
    python = folder / "bin" / "python"
    site = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=folder).strip())
    lent = dict.fromkeys(sysconfig.get_path(kind) for kind in ("purelib", "platlib"))
    (site / "lent.pth").write_text("".join(f"{path}\n" for path in lent))
    return python


def install(python: Path, kind: str, what: Path) -> None:
    """Install one of the built things and nothing else, without the network."""
    pip = [sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-index", "--no-deps"]
    editable = ["--editable"] if kind == "editable" else []
    run(*pip, "--no-build-isolation", *editable, what, cwd=python.parent)


def test_source_archive_is_the_repository(built: dict[str, Path]) -> None:
    """The source archive holds every file of the repository and none besides."""
    with tarfile.open(built["sdist"]) as archive:
        held = {name.removeprefix(f"{FULL_NAME}/") for name in archive.getnames()}
    assert held - {"PKG-INFO"} == {shown(path) for path in belonging()}


def test_wheel_is_the_program_and_its_procedures(built: dict[str, Path]) -> None:
    """The wheel holds the program, the procedures as benchwalk/shipped, its own record, and none besides."""
    program = {f"benchwalk/{path.relative_to(PACKAGE).as_posix()}" for path in belonging() if PACKAGE in path.parents}
    with zipfile.ZipFile(built["wheel"]) as wheel:
        held = set(wheel.namelist())
        entries = wheel.read(f"{FULL_NAME}.dist-info/entry_points.txt").decode()
        licences = [name for name in held if name.endswith("LICENSE")]
    assert {name for name in held if ".dist-info/" not in name} == program | {
        f"benchwalk/shipped/{name}" for name in procedure_names()
    }
    assert "benchwalk = benchwalk.__main__:main" in entries
    assert licences == [f"{FULL_NAME}.dist-info/licenses/LICENSE"]


@pytest.mark.parametrize("kind", KINDS)
def test_installed_program_finds_its_procedures(kind: str, built: dict[str, Path], tmp_path: Path) -> None:
    """However it is installed, the program runs from there and finds every shipped procedure by its id."""
    python = bare_environment(tmp_path / "venv")
    install(python, kind, built[kind])
    module, folder, *ids = run(python, "-P", "-c", WHERE, cwd=tmp_path).split()
    if kind == "editable":
        assert (Path(module).parent, Path(folder)) == (PACKAGE, ROOT / "procedures")
    else:
        assert tmp_path in Path(module).parents and Path(folder) == Path(module).parent / "shipped"
    assert set(ids) == {Path(name).stem for name in procedure_names()}


@pytest.mark.parametrize("kind", KINDS)
def test_installed_command_says_its_version(kind: str, built: dict[str, Path], tmp_path: Path) -> None:
    """However it is installed, `benchwalk --version` and `python -m benchwalk --version` say the project's version."""
    need("benchwalk.__main__" in modules(), "the command line")
    python = bare_environment(tmp_path / "venv")
    install(python, kind, built[kind])
    for command in ([python.parent / "benchwalk"], [python, "-P", "-m", "benchwalk"]):
        assert PROJECT["version"] in run(*command, "--version", cwd=tmp_path).split()


def test_missing_procedures_are_one_sentence(built: dict[str, Path], tmp_path: Path) -> None:
    """An installation that lost its procedures says so and what to do, and takes no other folder for them."""
    python = bare_environment(tmp_path / "venv")
    install(python, "wheel", built["wheel"])
    lost = Path(run(python, "-P", "-c", WHERE, cwd=tmp_path).split()[1])
    lost.rename(lost.with_name("elsewhere"))
    (lost.parent.parent.parent / "procedures").mkdir()
    code = "import benchwalk.data as d, benchwalk.errors as e\ntry: d.shipped_folder()\nexcept e.Failure as f: print(f)"
    assert run(python, "-P", "-c", code, cwd=tmp_path).strip().endswith("install Benchwalk again")


@pytest.mark.parametrize("kind", KINDS)
def test_install_as_a_user_does(kind: str, built: dict[str, Path], tmp_path: Path) -> None:
    """Installed from the package index with the locked versions, all modules import: no dependency is undeclared."""
    venv.create(tmp_path / "venv", with_pip=True)
    python = tmp_path / "venv" / "bin" / "python"
    editable = ["--editable"] if kind == "editable" else []
    pip = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    run(*pip, "-c", ROOT / "constraints.txt", *editable, built[kind], cwd=tmp_path, network=True)
    wanted = [name for name in modules() if not name.endswith("__main__")]
    every = "import importlib, sys; [importlib.import_module(name) for name in sys.argv[1:]]"
    run(python, "-P", "-c", every, *wanted, cwd=tmp_path)
    assert len(run(python, "-P", "-c", WHERE, cwd=tmp_path).split()) == 2 + len(procedure_names())
    assert "pytest" not in run(python, "-m", "pip", "list", cwd=tmp_path)


def test_suite_passes_from_the_source_archive(built: dict[str, Path], tmp_path: Path) -> None:
    """The everyday suite passes from the unpacked source archive, without the repository around it.

    Screens, terminals and browsers are left out: they take longest, and find nothing more in an archive.
    """
    run("tar", "-xzf", built["sdist"], cwd=tmp_path)
    top = tmp_path / FULL_NAME
    python = bare_environment(tmp_path / "venv")
    install(python, "editable", top)
    module = run(python, "-P", "-c", WHERE, cwd=tmp_path).split()[0]
    assert top in Path(module).parents
    out = [f"--ignore-glob=tests/test_{name}.py" for name in ("packaging", "screens_*", "serve")]
    assert " passed" in run(python, "-m", "pytest", "-n", "2", *out, cwd=top)
