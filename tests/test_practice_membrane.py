"""The physics under the practice drum against published tables, known laws and other ways of reckoning."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.interpolate import CubicSpline
from scipy.special import jn_zeros, jnp_zeros, jv

from benchwalk.practice import film as films
from benchwalk.practice.film import MIL, Film, ideal_hz
from benchwalk.practice.heads import GRAIN_CENTS
from benchwalk.practice.membrane import basis, heights, matrices, stiffness, volumes, zeros
from benchwalk.practice.rim import LEAST_PULL, angles, parts, place
from benchwalk.practice.ringing import Tensioned, alone, together
from benchwalk.practice.stress import POISSON, drawn

# Abramowitz & Stegun, table 9.5 (zeros of Bessel functions).
TABLE = {
    (0, 1): 2.404826,
    (1, 1): 3.831706,
    (2, 1): 5.135622,
    (0, 2): 5.520078,
    (3, 1): 6.380162,
    (1, 2): 7.015587,
    (4, 1): 7.588342,
}


def rod_notes(pulls, grain=(0.0, 0.0)):
    """Rod notes in cents, of a film without air and with a mean pull of 1, and all squared frequencies."""
    squares, ways = np.linalg.eigh(stiffness(parts(pulls), grain))
    at = angles(len(pulls))
    loud = (ways.T @ heights(np.full(len(at), 0.843), at))[1:3] ** 2
    return 1200 * np.log2(np.sqrt(squares[1:3]) @ loud / loud.sum(axis=0)), squares


def influence(rods):
    """How many cents each rod note moves when one rod pulls one percent more: row by rod note, column by rod."""
    rows = []
    for rod in range(rods):
        pulls = np.ones(rods)
        pulls[rod] += 0.01
        rows.append(rod_notes(pulls)[0] - rod_notes(np.ones(rods))[0] + 600 * math.log2(pulls.mean()))
    return np.array(rows).T


def test_an_even_film_sounds_at_the_bessel_zeros():
    """The frequencies of an even film stand to each other as the zeros in A&S table 9.5."""
    squares = np.linalg.eigvalsh(stiffness({}))
    expected = sorted(zero for (m, _), zero in TABLE.items() for _ in range(1 if m == 0 else 2))
    assert np.sqrt(squares[: len(expected)]) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("mils", "newtons"), [(3, 914), (5, 1524), (7, 2133), (7.5, 2286), (10, 3048)])
def test_the_pull_for_200_hz_is_that_of_the_table(mils, newtons):
    """f = j/(2 pi a) sqrt(T/sigma), a = 0.1778 m: 3 to 10 mil at 200 Hz want the pulls worked out by hand, N/m."""
    assert ideal_hz(TABLE[0, 1], newtons, Film(mils * MIL, 0.1778)) == pytest.approx(200, abs=0.05)


def test_the_matrices_come_out_of_integrals():
    """The even pull, integrated like all others, comes out as the squared zeros on a diagonal (Green's formula)."""
    made = matrices()
    assert np.allclose(made.even, np.diag(zeros() ** 2), atol=1e-9)
    for matrix in (*made.cosines, *made.sines, made.along, made.across):
        assert np.allclose(matrix, matrix.T, atol=1e-10)


def test_the_shapes_have_mean_square_one_and_the_right_volume():
    """On a grid of the disc each shape's square integrates to 1, no two overlap, and volumes are their integrals."""
    nodes, weights = np.polynomial.legendre.leggauss(60)
    r, a = np.meshgrid((nodes + 1) / 2, np.arange(60) * 2 * np.pi / 60, indexing="ij")
    area = np.repeat(weights / 2, 60) * r.ravel() * 2 * np.pi / 60
    shapes = heights(r.ravel(), a.ravel())
    assert np.allclose((shapes * area) @ shapes.T, np.eye(len(basis())), atol=1e-9)
    assert np.allclose(shapes @ area, volumes(), atol=1e-9)


@pytest.mark.parametrize("waves", range(1, 9))
def test_the_pull_inside_is_in_balance(waves):
    """Pull along and round the radius and shear balance everywhere (div T = 0, polar form), by differences."""
    r, a, step = 0.6, 0.3, 1e-5

    def at(radius, angle):
        return np.array([float(part[0]) for part in drawn(waves, np.array([radius]), np.array([angle]))])

    radial, hoop, shear = at(r, a)
    by_r = (at(r + step, a) - at(r - step, a)) / (2 * step)
    by_a = (at(r, a + step) - at(r, a - step)) / (2 * step)
    assert by_r[0] + by_a[2] / r + (radial - hoop) / r == pytest.approx(0, abs=1e-7)
    assert by_r[2] + by_a[1] / r + 2 * shear / r == pytest.approx(0, abs=1e-7)


@pytest.mark.parametrize("waves", range(1, 9))
def test_the_rim_stretches_as_it_is_drawn(waves):
    """Round the rim the strain is that of going straight outwards by cos(k angle): hoop less nu times radial pull."""
    a = np.linspace(0, 2 * np.pi, 7)
    radial, hoop, _ = drawn(waves, np.ones(7), a)
    assert hoop - POISSON * radial == pytest.approx((1 - POISSON) * np.cos(waves * a), abs=1e-12)


@pytest.mark.parametrize("rods", range(5, 13))
def test_between_the_rods_the_hoop_lies_on_a_bent_strips_curve(rods):
    """The waves up to eight are those of scipy's periodic cubic spline through the rods' pulls."""
    pulls = 1 + 0.2 * np.random.default_rng(rods).standard_normal(rods).clip(-2, 2)
    shares = pulls / pulls.mean()
    spline = CubicSpline(
        np.append(angles(rods), angles(rods)[0] + 2 * np.pi), np.append(shares, shares[0]), bc_type="periodic"
    )
    fine = np.arange(4096) * 2 * np.pi / 4096
    curve = spline(fine)
    for k, (cosine, sine) in parts(pulls).items():
        assert cosine == pytest.approx(2 * np.mean(curve * np.cos(k * fine)), abs=2e-6)
        assert sine == pytest.approx(2 * np.mean(curve * np.sin(k * fine)), abs=2e-6)


def test_a_rod_never_pushes():
    """A rod far below slack counts as hardly pulling, and an even head has no pattern at all."""
    for waves, pair in parts([1.0, 0.0, 1.0, 1.0, 1.0, 1.0]).items():
        assert pair == pytest.approx(parts([1.0, LEAST_PULL / 1.2, 1.0, 1.0, 1.0, 1.0])[waves], rel=0.01, abs=1e-9)
    assert all(abs(part) < 1e-12 for pair in parts([2.0] * 6).values() for part in pair)


@pytest.mark.parametrize("towards", [0.0, 0.3])
def test_a_lopsided_head_sounds_even_and_an_oval_one_does_not(towards):
    """Six rods, one side 10 % up, the other down, spread by a tenth of a cent; 8 % oval by 32 (36 between the rods)."""
    at = angles(6)
    assert np.ptp(rod_notes(1 + 0.1 * np.cos(at - towards))[0]) == pytest.approx(0.06, abs=0.04)
    assert np.ptp(rod_notes(1 + 0.08 * np.cos(2 * (at - towards / 2)))[0]) == pytest.approx(34, abs=3)


@pytest.mark.parametrize("rods", [8, 12])
def test_own_and_opposite_rod_move_a_note_most_and_alike_and_rods_at_a_right_angle_least(rods):
    """The influence matrix is circulant; own and opposite rod are largest and equal, those at 90 degrees least."""
    moved = influence(rods)
    for rod in range(rods):
        assert np.roll(moved[rod], -rod) == pytest.approx(moved[0], abs=0.01)
    first, half, quarter = moved[0], rods // 2, rods // 4
    assert first[0] == pytest.approx(first[half], abs=0.01)
    assert first.argsort()[-2:].tolist() in ([0, half], [half, 0])
    assert first.argmin() in (quarter, 3 * quarter)
    assert first[quarter] > 0


@pytest.mark.parametrize("rods", [5, 7, 9, 11])
def test_on_an_odd_drum_the_own_rod_moves_a_note_most(rods):
    """Without an opposite rod the own one leads, and the influence matrix is still circulant."""
    moved = influence(rods)
    assert all(moved[rod].argmax() == rod for rod in range(rods))
    assert np.roll(moved[2], -2) == pytest.approx(moved[0], abs=0.02)


def test_each_pair_hears_only_twice_its_diameters():
    """To first order the first pair is split by two waves alone, and the second pair by four alone."""
    for waves in range(1, 7):
        squares = np.linalg.eigvalsh(stiffness({waves: (0.001, 0.0)}))
        first, second = (600 * math.log2(squares[n + 1] / squares[n]) for n in (1, 3))
        assert (first > 0.1) == (waves == 2), waves
        assert (second > 0.1) == (waves == 4), waves


def test_a_film_with_a_grain_splits_its_pair_by_the_stated_cents():
    """A film that pulls 1 % more along than across splits the first pair by 1 % of GRAIN_CENTS; along sounds higher."""
    cents, squares = rod_notes(np.ones(12), (0.01, 0.0))
    assert 600 * math.log2(squares[2] / squares[1]) == pytest.approx(0.01 * GRAIN_CENTS, rel=0.01)
    assert cents[0] == cents.max() or cents[-1] == cents.max()
    turned = rod_notes(np.ones(12), (0.01 * math.cos(2 * place(4, 12)), 0.01 * math.sin(2 * place(4, 12))))[0]
    assert turned.argmax() in (3, 9)


def test_notes_rise_with_the_root_of_the_turns():
    """Without shut-in air's spring four times the turns past slack are an octave: (1,1) and (2,1), a pair each."""
    film = Film(7.5 * MIL, 0.178)
    low, high = (
        {ring.name: ring.hz for ring in alone(Tensioned(film, [turns] * 8, (0.0, 0.0)), 0.14)} for turns in (0.8, 3.2)
    )
    for name in ("(1,1)a", "(1,1)b", "(2,1)a", "(3,1)b"):
        assert high[name] / low[name] == pytest.approx(2, rel=1e-9)


def test_air_lowers_a_film_and_spreads_its_pairs():
    """With air a film sounds lower than its ideal note, and (2,1) over (1,1) lies in 1.34 to 1.42, as on real drums."""
    film = Film(7.5 * MIL, 0.178)
    head = Tensioned(film, [2.0] * 10, (0.0, 0.0))
    hz = {ring.name: ring.hz for ring in alone(head, 0.14)}
    assert 0.7 < hz["(1,1)a"] / ideal_hz(TABLE[1, 1], head.pull, film) < 0.95
    assert 1.34 < hz["(2,1)a"] / hz["(1,1)a"] < 1.42


def test_two_free_heads_push_each_other_apart():
    """Two alike heads joined by air ring in step and against: their (1,1) at the two roots of the shared mass."""
    film = Film(7.5 * MIL, 0.178)
    head = Tensioned(film, [2.0] * 10, (0.0, 0.0))
    single = {ring.name: ring.hz for ring in alone(head, 0.14)}
    joint = sorted(ring.hz for ring in together(head, head, 0.14))
    first = next(n for n, shape in enumerate(basis()) if (shape.m, shape.n) == (1, 1))
    shared = films.carried(film.radius, 0.14)[first] / films.moving(film)[first]
    for way in (1 + shared, 1 - shared):
        assert min(abs(hz - single["(1,1)a"] / math.sqrt(way)) for hz in joint) < 1e-6
    assert abs(shared) > 0.02
    assert joint[0] < single["(0,1)"] - 5


def test_the_other_head_is_seen_from_below():
    """Rods count from the strainer looking at the head in hand, so the far head's rod 2 lies over rod N-1: mirrored.

    The mirrored head has the same notes, and moves beside rod N-1 as the head itself does beside rod 2.
    """
    head = Tensioned(Film(7.5 * MIL, 0.178), [2.0, 2.6, 2.1, 1.7, 2.2, 1.9, 2.0], (0.01, 0.02))
    for one, two in zip(alone(head, 0.14)[:8], alone(head.mirrored(), 0.14)[:8], strict=True):
        assert two.hz == pytest.approx(one.hz, rel=1e-9)
        beside, over = (abs(ring.motion @ heights(0.8, place(rod, 7))) for ring, rod in ((one, 2), (two, 6)))
        assert over == pytest.approx(beside, rel=1e-6)


def test_a_deep_shell_joins_its_heads_less():
    """The air carried between heads falls with the depth of the shell and is none for shapes without diameters."""
    shallow, deep = films.carried(0.178, 0.1), films.carried(0.178, 0.3)
    for index, shape in enumerate(basis()):
        if shape.m == 0 or shape.n > 1:
            assert shallow[index] == 0
        else:
            assert 0 < -deep[index] < -shallow[index]


def test_the_first_shape_of_the_air_carries_nearly_all():
    """All shapes of the air between firm walls together carry what the one does that is reckoned with, to 2 %.

    A film's shape falls apart into J_m(wall zeros r), whose squared parts add up to one (Parseval).
    """
    nodes, weights = np.polynomial.legendre.leggauss(80)
    r, weight = (nodes + 1) / 2, weights * (nodes + 1)
    for m in (1, 2):
        film, walls = jv(m, TABLE[m, 1] * r), jnp_zeros(m, 12)
        shapes = [jv(m, wall * r) for wall in walls]
        alike = [np.sum(weight * film * s) ** 2 / np.sum(weight * film**2) / np.sum(weight * s**2) for s in shapes]
        assert sum(alike) == pytest.approx(1, abs=1e-3)
        whole = sum(
            films.AIR * 0.178**3 * part / wall / math.sinh(wall * 0.14 / 0.178)
            for part, wall in zip(alike, walls, strict=True)
        )
        index = next(n for n, shape in enumerate(basis()) if (shape.m, shape.n) == (m, 1))
        assert 0.98 < -films.carried(0.178, 0.14)[index] / whole < 1.02


def test_bessel_zeros_are_scipys():
    """The basis carries scipy's zeros, which are the table's."""
    for shape in basis():
        assert shape.zero == jn_zeros(shape.m, shape.n)[-1]
        if (shape.m, shape.n) in TABLE:
            assert shape.zero == pytest.approx(TABLE[shape.m, shape.n], abs=5e-7)
