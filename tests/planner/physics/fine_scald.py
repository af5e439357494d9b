"""An independent model of cooling paste: explicit finite volumes in the whole vessel.

It shares nothing with the product but the numbers of a vessel: a round one is cut into rings and
layers, a box into a quarter of cubes, so that heat finds its own way to the walls; the open surface
is found by bisection, stirring really mixes. Coefficients are written out anew [W/m²K].
"""

from dataclasses import dataclass

import numpy as np

DRY, OPEN_DRY, SIDE, BENCH = 9.0, 11.0, 9.0, 6.0
SKIN, EVAPORATION = 0.6, 77.0


def magnus_kpa(c):
    return 0.61094 * np.exp(17.625 * c / (c + 243.04))


@dataclass(frozen=True)
class Fine:
    """A paste: across both ways [m] (None for a round one of that diameter), depth [m]."""

    across_m: float
    depth_m: float
    width_m: float | None = None
    is_open: bool = False
    k: float = 0.5
    rho_c: float = 1080 * 3420.0
    side: float = SIDE
    bottom: float = BENCH
    top: float = DRY
    factor: float = 1.0
    skin: float = SKIN
    humidity: float = 0.5

    def shape(self, cells):
        """Volumes, and faces with their distances, per axis; the last axis points up."""
        n, m = cells
        z = np.full(m, self.depth_m / m)
        if self.width_m is None:
            edge = np.linspace(0, self.across_m / 2, n + 1)
            ring = np.pi * np.diff(edge**2)
            faces = 2 * np.pi * edge[1:]
            return [(edge[1] - edge[0], faces[:, None] * z[None, :])], ring[:, None] * z, z[0], ring
        x, y = self.across_m / 2 / n, self.width_m / 2 / n
        flat = np.full((n, n), x * y)
        volume = flat[:, :, None] * z
        one = np.ones((n, n, m)) * z
        return [(x, one * y), (y, one * x)], volume, z[0], flat

    def run(
        self, start_c, air_c, hours, *, cells=(14, 40), stir_min=None, every_min=5.0, stir_at=()
    ):
        """Return minutes, mean, warmest and centre; the air may be a function of minutes."""
        around, volume, dz, plan = self.shape(cells)
        alpha = self.k / self.rho_c
        fastest = 1 / dz**2 + sum(1 / d**2 for d, _ in around)
        wanted = min(0.3 / (alpha * fastest), 0.1 * dz * self.rho_c / 60.0)
        steps = int(np.ceil(every_min * 60 / wanted))
        dt = every_min * 60 / steps
        t = np.full(volume.shape, float(start_c))
        rows, surface = [(0.0, start_c, start_c, start_c)], np.full(plan.shape, float(start_c))
        for i in range(1, int(np.ceil(hours * 60 / every_min)) + 1):
            air = air_c((i - 0.5) * every_min) if callable(air_c) else air_c
            for _ in range(steps):
                heat, surface = self._heat(t, air, around, dz, plan, surface)
                t = t + dt * heat / (volume * self.rho_c)
            mean = float((t * volume).sum() / volume.sum())
            now = i * every_min
            due = stir_min and abs(now / stir_min - round(now / stir_min)) < 1e-9
            if due or any(abs(now - at) < every_min / 2 for at in stir_at):
                t = np.full(volume.shape, mean)
            middle = t.reshape(-1, t.shape[-1])[0]
            rows.append((now, mean, float(t.max()), float(middle[t.shape[-1] // 2])))
        return np.array(rows).T

    def _heat(self, t, air, around, dz, plan, surface):
        """Watts into every cell."""
        heat = np.zeros_like(t)
        for axis, (d, face) in enumerate(around):
            flow = (
                -self.k * np.diff(t, axis=axis) / d * np.take(face, range(t.shape[axis] - 1), axis)
            )
            lower = [slice(None)] * t.ndim
            upper = [slice(None)] * t.ndim
            lower[axis], upper[axis] = slice(None, -1), slice(1, None)
            heat[tuple(lower)] -= flow
            heat[tuple(upper)] += flow
            wall = [slice(None)] * t.ndim
            wall[axis] = -1
            u = 1 / (1 / (self.factor * self.side) + d / 2 / self.k)
            heat[tuple(wall)] -= u * face[tuple(wall)] * (t[tuple(wall)] - air)
        flow = -self.k * np.diff(t, axis=-1) / dz * plan[..., None]
        heat[..., :-1] -= flow
        heat[..., 1:] += flow
        u = 1 / (1 / (self.factor * self.bottom) + dz / 2 / self.k)
        heat[..., 0] -= u * plan * (t[..., 0] - air)
        out, surface = self._top(t[..., -1], air, dz / 2 / self.k, surface)
        heat[..., -1] -= out * plan
        return heat, surface

    def _top(self, cell, air, half, surface):
        """Flux of the top by bisection near its last surface [W/m²]."""
        low, high = np.minimum(surface, cell) - 4.0, np.maximum(surface, cell) + 0.1
        for _ in range(14):
            middle = (low + high) / 2
            rising = self._flux(middle, air) < (cell - middle) / half
            low, high = np.where(rising, middle, low), np.where(rising, high, middle)
        surface = (low + high) / 2
        return (cell - surface) / half, surface

    def _flux(self, c, air):
        if not self.is_open:
            return self.factor * self.top * (c - air)
        drive = np.maximum(magnus_kpa(c) - self.humidity * magnus_kpa(air), 0.0)
        fade = np.clip((c - air) / 0.5, None, 1.0)
        wet = self.skin * EVAPORATION * drive * fade
        return self.factor * (max(OPEN_DRY, self.top) * (c - air) + wet)


def hours_to(run, target_c, which=1):
    """Hours until a row of a run is at a temperature."""
    below = np.flatnonzero(run[which] <= target_c)
    if len(below) == 0:
        return np.inf
    j = below[0]
    a, b = run[which][j - 1], run[which][j]
    return (run[0][j - 1] + (a - target_c) / (a - b) * (run[0][j] - run[0][j - 1])) / 60
