"""Cooling and warming of a body by conduction, calculated in small cells.

A body is a product of one-dimensional axes: half a thickness, by symmetry, or a radius.  Each cell
keeps its enthalpy; heat flows between neighbours by the difference of their temperatures over the two
half-cells in series (harmonic mean of their conductivities), and from the outermost cells to the
surroundings through half a cell and the surface coefficient.  Freezing and melting, over whatever
range of temperatures, are in the enthalpy of the material and need no front to be followed.

Assumptions: the body starts at one temperature and is bathed on every side alike in surroundings of one
temperature; it does not change its size, flow or drip.

Units are SI but for temperatures in °C.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, isfinite
from typing import Any, Literal

import numpy as np

from formulate.arrays import Array
from formulate.errors import SolverFault
from formulate.timing.thermal import Material

__all__ = ["Axis", "Course", "Shape", "cool"]


#: Cells along an axis of a body with one, two and three axes.
_CELLS = {1: 24, 2: 16, 3: 8}

_MOMENTS = 240
_RELATIVE_ACCURACY = 1e-5  # of the enthalpies, each step of the solver


@dataclass(frozen=True, slots=True)
class Axis:
    """One direction of a body, from its middle to its surface.

    Attributes
    ----------
    length:
        Half a thickness or a radius [m].
    power:
        By which power of the distance from the middle the area grows: 0 plane, 1 cylinder, 2 sphere.
    """

    length: float
    power: int


@dataclass(frozen=True, slots=True)
class Shape:
    """A body as the product of its axes; the constructors take outer dimensions [m].

    A dimension that is infinite leaves its axis out: an endless cylinder, say.

    Raises
    ------
    ValueError
        If a dimension is not positive, or none is finite.
    """

    axes: tuple[Axis, ...]

    @classmethod
    def slab(cls, thickness: float) -> Shape:
        """Return a slab, cooled from both faces."""
        return cls.block(thickness, inf, inf)

    @classmethod
    def cylinder(cls, diameter: float, height: float) -> Shape:
        """Return a cylinder, cooled all around."""
        return cls(_axes((diameter, 1), (height, 0)))

    @classmethod
    def block(cls, length: float, width: float, height: float) -> Shape:
        """Return a rectangular block, cooled from its six faces."""
        return cls(_axes((length, 0), (width, 0), (height, 0)))

    @classmethod
    def sphere(cls, diameter: float) -> Shape:
        """Return a sphere."""
        return cls(_axes((diameter, 2)))

    @property
    def area_per_volume(self) -> float:
        """Surface per volume [1/m]."""
        return sum((axis.power + 1) / axis.length for axis in self.axes)

    @property
    def volume(self) -> float:
        """Volume [m3]; infinite where a dimension is."""
        powers = sorted(axis.power for axis in self.axes)
        lengths = [axis.length for axis in self.axes]
        if powers == [2]:
            return float(4.0 / 3.0 * np.pi * lengths[0] ** 3)
        if powers == [0, 1]:
            radial = next(axis.length for axis in self.axes if axis.power == 1)
            return float(2.0 * np.pi * radial * np.prod(lengths))
        if powers == [0, 0, 0]:
            return float(8.0 * np.prod(lengths))
        return inf


def _axes(*dimensions: tuple[float, int]) -> tuple[Axis, ...]:
    for size, _ in dimensions:
        if not size > 0.0:
            raise ValueError(f"a dimension must be greater than 0 m, got {size!r}")
    axes = tuple(Axis(size / 2.0, power) for size, power in dimensions if isfinite(size))
    if not axes:
        raise ValueError("at least one dimension must be finite")
    return axes


@dataclass(frozen=True)
class Course:
    """How a body cooled or warmed.

    Attributes
    ----------
    times_s:
        Moments [s], shape (n,), from 0 to the end of the calculation.
    core_c, mean_c, surface_c:
        Temperature of the middle, of the mean enthalpy, and mean of the surface [°C], shape (n,).
    mean_enthalpy:
        [J/kg], shape (n,).
    heat_out_j_per_kg:
        Heat that has left through the surface [J/kg], shape (n,), negative where it came in.
        Integrated beside the enthalpies, not from them.
    energy_error:
        Difference between that and the loss of mean enthalpy at the end, over the larger of the two.
    reached_s:
        When the temperature asked for was reached [s]; ``None`` if none was asked for or it was not.
    """

    times_s: Array
    core_c: Array
    mean_c: Array
    surface_c: Array
    mean_enthalpy: Array
    heat_out_j_per_kg: Array
    energy_error: float
    reached_s: float | None

    def at(self, seconds: float) -> tuple[float, float, float]:
        """Return core, mean and surface temperature at a moment [°C].

        Raises
        ------
        ValueError
            If the calculation does not reach to that moment.
        """
        if not 0.0 <= seconds <= self.times_s[-1] * (1.0 + 1e-9):
            raise ValueError(f"seconds must be from 0 to {self.times_s[-1]:g}, got {seconds!r}")
        core, mean, surface = (
            float(np.interp(seconds, self.times_s, each))
            for each in (self.core_c, self.mean_c, self.surface_c)
        )
        return core, mean, surface


def cool(
    material: Material,
    shape: Shape,
    start_c: float,
    surroundings_c: float,
    h: float,
    seconds: float,
    *,
    until: Literal["core", "mean"] | None = None,
    target_c: float | None = None,
    at_least_s: float = 0.0,
    cells: int | None = None,
) -> Course:
    """Return how a body cools, or warms, in its surroundings.

    Parameters
    ----------
    material:
        What the body is made of.
    shape:
        The body.
    start_c, surroundings_c:
        Temperature of the body at the start and of its surroundings [°C].
    h:
        Coefficient from the surface of the body to the surroundings, walls included [W/(m2 K)].
    seconds:
        When to stop at the latest [s].
    until, target_c:
        Stop when this temperature, core or mean, reaches the target [°C]; give both or neither.
    at_least_s:
        Go on for this long even if the target is reached before [s], up to ``seconds``.
    cells:
        Cells along each axis, from 3; by default 24, 16 or 8 for one, two or three axes.

    Raises
    ------
    ValueError
        If a temperature is outside the grid of the material, ``target_c`` does not lie between start
        and surroundings, or a number is out of its range.
    SolverFault
        If the integration fails.

    Notes
    -----
    Backward differentiation formulas of variable order on a sparse Jacobian (scipy's BDF).  Shorter
    axes are cut as finely as longer ones.
    """
    _check(material, start_c, surroundings_c, h, seconds, at_least_s)
    body = _Body(material, shape, surroundings_c, h, cells or _CELLS[len(shape.axes)])
    missing = None
    if until is not None or target_c is not None:
        missing = _missing(body, start_c, until, target_c)
    state = np.append(np.full(body.count, float(material.enthalpy_at(start_c))), 0.0)
    times, states, stopped = _integrate(body, state, 0.0, seconds, missing)
    reached = float(times[-1]) if stopped else None
    if reached is not None and reached < at_least_s:
        later, more, _ = _integrate(body, states[:, -1], reached, at_least_s, None)
        times = np.concatenate([times, later[1:]])
        states = np.concatenate([states, more[:, 1:]], axis=1)
    return _course(body, times, states, reached)


def _check(
    material: Material,
    start_c: float,
    surroundings_c: float,
    h: float,
    seconds: float,
    at_least_s: float,
) -> None:
    coldest, warmest = float(material.temperature_c[0]), float(material.temperature_c[-1])
    for name, value in (("start_c", start_c), ("surroundings_c", surroundings_c)):
        if not coldest <= value <= warmest:
            limits = f"{coldest:g} to {warmest:g} °C, where the material is known"
            raise ValueError(f"{name} must be from {limits}, got {value!r}")
    for name, value in (("h", h), ("seconds", seconds)):
        if not 0.0 < value < inf:
            raise ValueError(f"{name} must be greater than 0, got {value!r}")
    if not 0.0 <= at_least_s <= seconds:
        raise ValueError(f"at_least_s must be from 0 to seconds, got {at_least_s!r}")


def _missing(
    body: _Body, start_c: float, until: str | None, target_c: float | None
) -> Callable[[float, Array], float]:
    """Return how far a state is from the target [°C], as the solver takes it."""
    if until not in ("core", "mean") or target_c is None:
        raise ValueError("until must be core or mean, and target_c a temperature: give both")
    low, high = sorted((start_c, body.surroundings_c))
    if not low < target_c < high:
        raise ValueError(
            f"target_c must lie between the start and the surroundings, {low:g} to {high:g} °C, "
            f"got {target_c!r}"
        )
    temperature = body.core if until == "core" else body.mean

    def missing(_: float, state: Array) -> float:
        return temperature(state) - target_c

    missing.terminal = True  # type: ignore[attr-defined]
    return missing


class _Body:
    """A body in cells: rates of change of the enthalpies, then of the heat that has left [J/kg].

    Cells are the points of a box of ``cells`` along each axis, counted with the last axis fastest.  The
    links of each axis join every cell to its outer neighbour.
    """

    def __init__(
        self, material: Material, shape: Shape, surroundings_c: float, h: float, cells: int
    ) -> None:
        if cells < 3:
            raise ValueError(f"cells must be from 3, got {cells!r}")
        self.material, self.surroundings_c, self.h = material, surroundings_c, h
        box = (cells,) * len(shape.axes)
        index = np.arange(cells ** len(box)).reshape(box)
        self.count = index.size
        volumes = [_volumes(axis, cells) for axis in shape.axes]
        self.share = _outer(volumes).ravel()  # of the volume, adds up to 1
        inner, outer, over, skin, skin_area, skin_half = [], [], [], [], [], []
        for number, axis in enumerate(shape.axes):
            step = axis.length / cells
            areas = _areas(axis, cells)
            face = _outer([areas if n == number else v for n, v in enumerate(volumes)])
            line = np.moveaxis(index, number, 0)
            area = np.moveaxis(face, number, 0)
            inner.append(line[:-1].ravel())
            outer.append(line[1:].ravel())
            over.append(area[:-1].ravel() / step)
            skin.append(line[-1].ravel())
            skin_area.append(area[-1].ravel())
            skin_half.append(np.full(area[-1].size, step / 2.0))
        self.inner, self.outer, self.over = map(np.concatenate, (inner, outer, over))
        self.skin, self.skin_area, self.skin_half = map(
            np.concatenate, (skin, skin_area, skin_half)
        )
        self._steepness = np.diff(material.temperature_c) / np.diff(material.enthalpy)
        self._conductivity_slope = np.diff(material.conductivity) / np.diff(material.enthalpy)
        # Middle of the body: a parabola through the two innermost cells of every axis.
        corner = _outer([np.array([9.0, -1.0]) / 8.0] * len(box))
        self._middle = index[(slice(0, 2),) * len(box)].ravel()
        self._middle_weight = corner.ravel()

    def temperatures(self, enthalpy: Array) -> Array:
        """Temperatures of cells [°C]; the ends of the grid stand for all beyond them."""
        return np.interp(enthalpy, self.material.enthalpy, self.material.temperature_c)

    def _conductivities(self, enthalpy: Array) -> Array:
        return np.interp(enthalpy, self.material.enthalpy, self.material.conductivity)

    def flows(self, enthalpy: Array) -> tuple[Array, Array]:
        """Heat outward over the links and through the skin [W per m3 of the body]."""
        temperature, k = self.temperatures(enthalpy), self._conductivities(enthalpy)
        k_in, k_out = k[self.inner], k[self.outer]
        mean = 2.0 * k_in * k_out / (k_in + k_out)
        inside = self.over * mean * (temperature[self.inner] - temperature[self.outer])
        through = self.skin_area / (self.skin_half / k[self.skin] + 1.0 / self.h)
        return inside, through * (temperature[self.skin] - self.surroundings_c)

    def rates(self, _: float, state: Array) -> Array:
        """Rates of change of a state [W/kg]."""
        inside, out = self.flows(state[:-1])
        gain = np.bincount(self.outer, inside, self.count)
        gain -= np.bincount(self.inner, inside, self.count)
        gain -= np.bincount(self.skin, out, self.count)
        density = self.material.density
        return np.append(gain / (self.share * density), out.sum() / density)

    def jacobian(self, _: float, state: Array) -> Any:
        """Derivatives of :meth:`rates`, a sparse matrix."""
        from scipy import sparse

        enthalpy = state[:-1]
        grid = self.material.enthalpy
        piece = np.clip(np.searchsorted(grid, enthalpy, side="right") - 1, 0, len(grid) - 2)
        warming, slope = self._steepness[piece], self._conductivity_slope[piece]
        temperature, k = self.temperatures(enthalpy), self._conductivities(enthalpy)
        a, b, s = self.inner, self.outer, self.skin
        total = k[a] + k[b]
        drop = self.over * (temperature[a] - temperature[b]) * 2.0 / total**2
        mean = self.over * 2.0 * k[a] * k[b] / total
        by_a = mean * warming[a] + drop * k[b] ** 2 * slope[a]
        by_b = -mean * warming[b] + drop * k[a] ** 2 * slope[b]
        resistance = self.skin_half / k[s] + 1.0 / self.h
        out = self.skin_area / resistance * warming[s]
        excess = temperature[s] - self.surroundings_c
        out += self.skin_area * excess * self.skin_half * slope[s] / (k[s] * resistance) ** 2
        last = np.full(s.size, self.count)
        row = np.concatenate([a, a, b, b, s, last])
        column = np.concatenate([a, b, a, b, s, s])
        value = np.concatenate([-by_a, -by_b, by_a, by_b, -out, out])
        weight = np.append(self.share, 1.0) * self.material.density
        shape = (self.count + 1, self.count + 1)
        return sparse.coo_matrix((value / weight[row], (row, column)), shape=shape).tocsc()

    def core(self, state: Array) -> float:
        """Temperature of the middle [°C]."""
        return float(self._middle_weight @ self.temperatures(state[self._middle]))

    def mean(self, state: Array) -> float:
        """Temperature of the mean enthalpy [°C]."""
        return float(self.temperatures(self.share @ state[:-1]))

    def surface(self, state: Array) -> float:
        """Mean temperature of the surface [°C]."""
        _, out = self.flows(state[:-1])
        return float(self.surroundings_c + out.sum() / (self.h * self.skin_area.sum()))


def _volumes(axis: Axis, cells: int) -> Array:
    """Shares of the cells in the volume along one axis, from the middle outward."""
    faces = np.linspace(0.0, 1.0, cells + 1) ** (axis.power + 1)
    return np.diff(faces)


def _areas(axis: Axis, cells: int) -> Array:
    """Areas of the outer faces of the cells per volume along one axis [1/m]."""
    faces = np.linspace(0.0, 1.0, cells + 1)[1:] ** axis.power
    return np.asarray(faces * (axis.power + 1) / axis.length)


def _outer(arrays: list[Array]) -> Array:
    product = arrays[0]
    for array in arrays[1:]:
        product = np.multiply.outer(product, array)
    return product


def _integrate(
    body: _Body,
    state: Array,
    start: float,
    end: float,
    missing: Callable[[float, Array], float] | None,
) -> tuple[Array, Array, bool]:
    """Return moments, states (cells + 1, moments), and whether ``missing`` came to 0 at the last."""
    from scipy.integrate import solve_ivp  # imported late: it takes longer than integrating

    span = float(body.material.enthalpy[-1] - body.material.enthalpy[0])
    solution = solve_ivp(
        body.rates,
        (start, end),
        state,
        method="BDF",
        jac=body.jacobian,
        events=missing,
        dense_output=True,
        rtol=_RELATIVE_ACCURACY,
        atol=_RELATIVE_ACCURACY * span,
    )
    if solution.status < 0:
        raise SolverFault(f"The cooling could not be calculated: {solution.message}")
    last = float(solution.t[-1])
    times = start + (last - start) * np.linspace(0.0, 1.0, _MOMENTS + 1) ** 2
    times[-1] = last
    states = np.asarray(solution.sol(times), dtype=float)
    states[:, 0], states[:, -1] = state, solution.y[:, -1]
    return times, states, bool(solution.status == 1)


def _course(body: _Body, times: Array, states: Array, reached: float | None) -> Course:
    mean = body.share @ states[:-1]
    lost, out = float(mean[0] - mean[-1]), float(states[-1, -1])
    larger = max(abs(lost), abs(out))
    return Course(
        times_s=times,
        core_c=np.array([body.core(state) for state in states.T]),
        mean_c=body.temperatures(mean),
        surface_c=np.array([body.surface(state) for state in states.T]),
        mean_enthalpy=mean,
        heat_out_j_per_kg=states[-1],
        energy_error=abs(lost - out) / larger if larger > 0.0 else 0.0,
        reached_s=reached,
    )
