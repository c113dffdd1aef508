"""The practice drum's film against finite elements: another way to the same physics, sharing no line with it.

The flat film is drawn out at its rim and solved as an elastic disc in plane stress; the pull found inside carries the
membrane, whose lowest notes are compared in cents. Elements and assembly: scikit-fem, curved triangles of order 2.
"""

from __future__ import annotations

import numpy as np
import pytest

from benchwalk.practice.membrane import stiffness
from benchwalk.practice.rim import angles, parts
from benchwalk.practice.stress import POISSON

skfem = pytest.importorskip("skfem")
from scipy.sparse.linalg import eigsh  # noqa: E402 # after the skip
from skfem.helpers import grad, sym_grad  # noqa: E402

ROUNDS = 4  # of refinement: 2,113 places, notes within 0.1 cent of those of finer ones
CENTS = 0.1


def _plane(strain: np.ndarray) -> list[list[np.ndarray]]:
    """Plane stress of a strain, in units in which an even draw of 1 makes a pull of 1."""
    trace = strain[0, 0] + strain[1, 1]
    scale = (1 - POISSON) / (1 - POISSON**2)
    return [
        [scale * ((1 - POISSON) * strain[i, j] + (POISSON * trace if i == j else 0)) for j in range(2)]
        for i in range(2)
    ]


@skfem.BilinearForm
def elastic(u, v, _):  # type: ignore[no-untyped-def]
    """Work of a flat disc's strain."""
    pull, strain = _plane(sym_grad(u)), sym_grad(v)
    return sum(pull[i][j] * strain[i, j] for i in range(2) for j in range(2))


@skfem.BilinearForm
def hanging(u, v, w):  # type: ignore[no-untyped-def]
    """Work of a film under the pull xx, xy, yy."""
    a, b = grad(u), grad(v)
    return w.xx * a[0] * b[0] + w.yy * a[1] * b[1] + w.xy * (a[0] * b[1] + a[1] * b[0])


@skfem.BilinearForm
def weighing(u, v, _):  # type: ignore[no-untyped-def]
    """Mass."""
    return u * v


def squares(pattern: dict[int, tuple[float, float]], count: int, grain: float = 0.0) -> np.ndarray:
    """The lowest squared frequencies of a film of radius, mass and mean pull 1 whose rim is drawn out by a pattern."""
    mesh = skfem.MeshTri2.init_circle(ROUNDS)
    flat = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementTriP2()), intorder=6)
    moved = np.zeros(flat.N)
    for axis, towards in enumerate((np.cos, np.sin)):
        rim = flat.get_dofs().all([f"u^{axis + 1}"])
        at = np.arctan2(flat.doflocs[1, rim], flat.doflocs[0, rim])
        drawn = 1 + sum(c * np.cos(k * at) + s * np.sin(k * at) for k, (c, s) in pattern.items())
        moved[rim] = drawn * towards(at)
    solved = skfem.solve(*skfem.condense(elastic.assemble(flat), x=moved, D=flat.get_dofs()))
    film = skfem.Basis(mesh, skfem.ElementTriP2(), intorder=6)
    pull = _plane(sym_grad(flat.interpolate(solved)))
    stiff = hanging.assemble(film, xx=pull[0][0] + grain, xy=pull[0][1], yy=pull[1][1] - grain)
    inner = film.complement_dofs(film.get_dofs())
    mass = weighing.assemble(film)[inner][:, inner]
    return np.sort(eigsh(stiff[inner][:, inner], k=count, M=mass, sigma=0, return_eigenvectors=False))


@pytest.mark.parametrize(
    "pattern",
    [
        pytest.param({}, id="even"),
        pytest.param({2: (0.08, 0.0)}, id="oval"),
        pytest.param({2: (-0.15, 0.2)}, id="oval, strong, at an angle"),
        pytest.param({1: (0.1, 0.0)}, id="lopsided"),
        pytest.param({3: (0.0, 0.1)}, id="three waves"),
        pytest.param({4: (0.05, -0.05)}, id="four waves"),
        pytest.param(
            {1: (0.1, 0.02), 2: (-0.05, 0.1), 3: (0.1, 0.0), 4: (0.03, -0.1), 5: (0.1, 0.0)}, id="all at once"
        ),
    ],
)
def test_the_notes_of_an_unevenly_drawn_film_are_those_of_finite_elements(pattern):
    """Whatever pattern the rim is drawn into, six notes are those of finite elements to a tenth of a cent."""
    ours = np.linalg.eigvalsh(stiffness(pattern))[:6]
    assert 600 * np.abs(np.log2(ours / squares(pattern, 6))).max() < CENTS


def test_a_film_with_a_grain_sounds_as_in_finite_elements():
    """A film that pulls by a fifth more along than the mean and as much less across: the same six notes."""
    ours = np.linalg.eigvalsh(stiffness({2: (0.0, 0.1)}, (0.2, 0.0)))[:6]
    assert 600 * np.abs(np.log2(ours / squares({2: (0.0, 0.1)}, 6, 0.2))).max() < CENTS
    turned = np.linalg.eigvalsh(stiffness({2: (-0.1, 0.0)}, (0.0, 0.2)))[:6]
    assert turned == pytest.approx(ours, rel=1e-9), "the same, turned by 45 degrees"


def test_an_oval_by_the_rods_moves_the_first_pair_as_finite_elements_say():
    """Eight rods in an 8 % oval split the first pair by what finite elements find for the rods' own pattern."""
    pattern = parts(1 + 0.08 * np.cos(2 * angles(8)))
    ours, theirs = np.linalg.eigvalsh(stiffness(pattern)), squares(pattern, 3)
    split = 600 * np.log2(ours[2] / ours[1])
    assert split > 30
    assert split == pytest.approx(600 * np.log2(theirs[2] / theirs[1]), abs=CENTS)
