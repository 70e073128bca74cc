#!/usr/bin/env python3
"""The averaged model once more, in NumPy and SciPy, to set the program's speed beside.

    reference.py FOLDER [--grid MM ...] [--json]

FOLDER holds what `sparecoat_bench --write FOLDER` left there: the arm path (path.csv), the setup and the
program's own results (section.json). The same path is run here on the same grids; removed volume and the
open panel's median must agree within 0.5 %, or the script says so and exits with 1.

It is written as one would write it in NumPy: whole arrays over the window under the pad, slices of the
panel instead of copies, no loop over cells, exact special functions from SciPy where the program has
approximations of its own. Numbers are float64. Equations and their sources are in docs/model.md.
"""
import argparse
import json
import math
import pathlib
import sys
import time

import numpy as np
from scipy.fft import dctn, idctn
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

AGREEMENT = 0.005
RINGS = 24
RING_SAMPLE = 2500  # cells are enough for ring sums
BALANCE_TOLERANCE = 2e-4
ENGAGE_STRAIN = 0.01
OVERHANG_PHASES = 8
DRY_SHARE, DRY_DRAG = 0.25, 0.5


class Plate:
    """A flat rectangular panel with a border of empty cells wide enough for a pad that hangs over."""

    def __init__(self, size, spacing, pad, border):
        self.h = spacing
        columns, rows = (math.ceil(length / spacing - 1e-6) for length in size)
        self.margin = math.ceil(border / spacing) + 1
        self.size = size
        self.x = (np.arange(columns + 2 * self.margin) - self.margin + 0.5) * spacing
        self.y = (np.arange(rows + 2 * self.margin) - self.margin + 0.5) * spacing
        self.on = np.zeros((self.y.size, self.x.size))
        self.inner = np.s_[self.margin:-self.margin, self.margin:-self.margin]
        self.on[self.inner] = 1
        self.height = np.zeros_like(self.on)
        self.shear_pa = np.zeros_like(self.on)  # flat: no curvature
        self.edge_gain = np.zeros_like(self.on)
        self.edge_gain[self.inner] = 1 + self.edge_reaction(rows, columns, pad)
        self.time, self.pressure_time = np.zeros_like(self.on), np.zeros_like(self.on)
        self.friction_path, self.removed = np.zeros_like(self.on), np.zeros_like(self.on)

    def edge_reaction(self, rows, columns, pad):
        """(1 - l^2 lap) c = l x edge length per area, insulated: diagonal in cosines on a rectangle."""
        foundation = pad["modulus_pa"] / pad["thickness_m"]
        shear = pad["modulus_pa"] * pad["thickness_m"] / (6 * (1 + pad["poisson"]))
        decay = math.sqrt(shear / foundation)
        source = np.zeros((rows, columns))
        for side in (np.s_[0, :], np.s_[-1, :], np.s_[:, 0], np.s_[:, -1]):
            source[side] = decay / self.h
        # A corner's length is counted along its normal: two faces of h, each times cos 45 degrees.
        source[np.ix_([0, -1], [0, -1])] = math.sqrt(2) * decay / self.h
        waves = [4 * np.sin(np.pi * np.arange(n) / (2 * n)) ** 2 for n in (rows, columns)]
        stiffness = 1 + (decay / self.h) ** 2 * (waves[0][:, None] + waves[1][None, :])
        return idctn(dctn(source) / stiffness)

    def window(self, centre, reach):
        """Slices of the cells within reach of the pad's centre, and their places from it."""
        low = [int(math.ceil((c - reach) / self.h - 0.5)) + self.margin for c in centre]
        high = [int(math.floor((c + reach) / self.h - 0.5)) + self.margin + 1 for c in centre]
        cells = np.s_[low[1]:high[1], low[0]:high[0]]
        return cells, self.x[low[0]:high[0]] - centre[0], self.y[low[1]:high[1]] - centre[1]

    def open_median_um(self, pad_radius):
        """Median loss a pad radius clear of the edges, where contact was at least half of the longest."""
        removed, contact = self.removed[self.inner], self.time[self.inner]
        worked = removed > 0
        times = np.sort(contact[worked])
        clear_of_u = np.minimum(self.x, self.size[0] - self.x)[self.margin:-self.margin]
        clear_of_v = np.minimum(self.y, self.size[1] - self.y)[self.margin:-self.margin]
        clear = np.minimum(clear_of_u[None, :], clear_of_v[:, None]) >= pad_radius
        chosen = np.sort(removed[worked & clear & (contact >= 0.7 * times[times.size * 9 // 10])])
        return chosen[int(0.5 * (chosen.size - 1))] * 1e6


def foam(pad, strain):
    """Pressure and slope (Pa) of the foam at a strain, three regimes (Gibson and Ashby 1997)."""
    rise = pad["modulus_pa"] / pad["plateau_pa"]
    elastic = rise * strain
    packed = strain / pad["densification_strain"]
    held = np.minimum(packed, 0.95)
    knee = 1 / np.sqrt(1 + elastic * elastic)
    room = 1 / (1 - held)
    dense_slope = held * held * (3 - 2 * held) * room * room
    pressure = pad["plateau_pa"] * (elastic * knee + held**3 * room + dense_slope * (packed - held))
    slope = pad["plateau_pa"] * (rise * knee**3 + dense_slope / pad["densification_strain"])
    return pressure, slope


def moments(weight, x, y):
    """Sums of weight x (1, x, y, xx, xy, yy) over a window."""
    by_column, by_row = weight.sum(axis=0), weight.sum(axis=1)
    return np.array([by_column.sum(), by_column @ x, by_row @ y, by_column @ (x * x), y @ weight @ x,
                     by_row @ (y * y)])


def symmetric(m):
    return np.array([[m[0], m[1], m[2]], [m[1], m[3], m[4]], [m[2], m[4], m[5]]])


def levelled(height, weight, x, y):
    """Height above its weighted least-squares plane."""
    loaded = weight * height
    right = np.array([loaded.sum(), loaded.sum(axis=0) @ x, loaded.sum(axis=1) @ y])
    plane = np.linalg.solve(symmetric(moments(weight, x, y)), right)
    return height - (plane[0] + plane[1] * x[None, :] + plane[2] * y[:, None])


def edge_gain(pad, plate, cells, centre, x, y, orbit):
    """1 + c x mean over the orbit's phases of tanh(overhang / l), the overhang past the nearest edge."""
    decay = pad["thickness_m"] / math.sqrt(6 * (1 + pad["poisson"]))
    u, v = np.broadcast_arrays((centre[0] + x)[None, :], (centre[1] + y)[:, None])
    sides = np.stack([u, plate.size[0] - u, v, plate.size[1] - v])
    nearest = sides.argmin(axis=0)
    across = np.choose(nearest, [-1, 1, 0, 0]), np.choose(nearest, [0, 0, -1, 1])  # unit vector towards the edge
    total, covered = np.zeros_like(u), np.zeros_like(u)
    for k in range(OVERHANG_PHASES):
        angle = 2 * math.pi * (k + 0.5) / OVERHANG_PHASES
        dx, dy = x[None, :] - orbit * math.cos(angle), y[:, None] - orbit * math.sin(angle)
        before, beside = across[0] * dx + across[1] * dy, across[1] * dx - across[0] * dy
        under = dx * dx + dy * dy < pad["radius_m"] ** 2
        out = np.sqrt(np.maximum(pad["radius_m"] ** 2 - beside**2, 0)) - before - sides.min(axis=0)
        total += under * np.tanh(np.maximum(out, 0) / decay)
        covered += under
    share = total / np.maximum(covered, 1)
    return np.where(plate.on[cells] > 0, 1 + (plate.edge_gain[cells] - 1) * share, 0)


def press(pad, plate, cells, gain, height, x, y, pose):
    """Pressure, stiffness and compression under a plate at a pose (depth, tilt along x, tilt along y)."""
    on, shear = plate.on[cells], plate.shear_pa[cells]
    squash = np.maximum(height + (pose[0] + pose[1] * x[None, :] + pose[2] * y[:, None]), 0) * on
    pressure, slope = foam(pad, squash / pad["thickness_m"])
    engage = 1 / (ENGAGE_STRAIN * pad["thickness_m"])
    held = squash * engage
    pressure = pressure * gain - shear * np.minimum(held, 1)
    stiffness = slope * gain / pad["thickness_m"] - shear * np.where(held < 1, engage, 0)
    touching = pressure > 0
    return pressure * touching, stiffness * touching, squash


def balance(pad, plate, cells, gain, height, coverage, x, y, force, tilt, hand_stiffness, pose):
    """Damped Newton for depth and two tilts, from the last step's pose."""
    cell = plate.h**2
    scale = np.array([1, pad["radius_m"], pad["radius_m"]])
    face = pad["modulus_pa"] / pad["thickness_m"] * math.pi * pad["radius_m"] ** 2
    hand = np.array([0, hand_stiffness, hand_stiffness])
    accepted, least, step = pose, math.inf, np.zeros(3)
    for _ in range(40):
        pressure, stiffness, squash = press(pad, plate, cells, gain, height, x, y, pose)
        carried = pressure * coverage
        load = np.array([carried.sum(), carried.sum(axis=0) @ x, carried.sum(axis=1) @ y]) * cell
        residual = load - np.array([force, 0, 0]) - hand * ([0, *tilt] - pose)
        off = residual / (force * scale)
        if abs(off[0]) < BALANCE_TOLERANCE and math.hypot(*off[1:]) < BALANCE_TOLERANCE:
            return pose, pressure, squash
        if off @ off > least:
            step = 0.4 * step  # overshot
        else:
            accepted, least = pose, off @ off
            slope = symmetric(moments(stiffness * coverage, x, y)) * cell
            slope += np.diag(hand + 1e-3 * face * scale**2)
            step = -np.linalg.solve(slope, residual)
            step *= min(1, 0.2 * pad["thickness_m"] / max(np.abs(step * scale).max(), 1e-30))
        pose = accepted + step
    raise RuntimeError("the plate found no balance")


def rim_passage(r, orbit, radius):
    """Share of an orbit during which a point is covered, and the mean cosine of the orbit's angle meanwhile."""
    toward = np.clip((r * r + orbit**2 - radius**2) / (2 * orbit * r + 1e-12), -1, 1)
    return np.arccos(toward) / np.pi, np.sqrt(1 - toward * toward) / np.pi


def mean_speed(turning, fixed):
    """Mean length of a turning vector plus a fixed one."""
    both = turning + fixed
    return 2 / np.pi * both * ellipe(4 * turning * fixed / (both * both))


def speed_swing(turning, fixed):
    """First Fourier coefficient of that length over a turn."""
    both = turning + fixed
    m = np.clip(4 * turning * fixed / (both * both), 1e-6, 1 - 1e-15)
    return 4 * both / (3 * np.pi * m) * ((2 - m) * ellipe(m) - 2 * (1 - m) * ellipk(m))


def second_swing(turning, fixed):
    """Second Fourier coefficient of that length over a turn, by the midpoint rule."""
    angle = 2 * np.pi * (np.arange(64) + 0.5) / 64
    length = np.hypot(fixed[:, None] + turning * np.cos(angle), turning * np.sin(angle))
    return 2 * (length * np.cos(2 * angle)).mean(axis=1)


def rubbing_speed(x, y, r, coverage, lean, slip, spin, velocity):
    """coverage x mean |v| while covered: at the rim only the stretch of the orbit leaning outwards counts."""
    across, along = velocity[0] - spin * y[:, None], velocity[1] + spin * x[None, :]
    fixed = np.hypot(across, along)
    speed = coverage * mean_speed(abs(slip), fixed)
    rim = lean > 0
    turned = (along * x[None, :] - across * y[:, None])[rim] / (r[rim] * fixed[rim])
    speed[rim] += lean[rim] * speed_swing(abs(slip), fixed[rim]) * turned * math.copysign(1, slip)
    return speed


def ring_loads(pad, orbit, x, y, r, coverage, lean, pressure, squash, cell):
    """Load, rim's load (N) and radius (m) of each ring, and the foam's hysteresis torque (N m)."""
    stride = r.size // RING_SAMPLE | 1  # odd, to stagger from row to row
    x, y = np.broadcast_to(x[None, :], r.shape), np.broadcast_to(y[:, None], r.shape)
    r, x, y, coverage, lean, pressure, squash = (a.ravel()[::stride]
                                                 for a in (r, x, y, coverage, lean, pressure, squash))
    cosine, sine = x / (r + 1e-9), y / (r + 1e-9)
    outer = pad["radius_m"] + orbit
    ring = np.minimum((r * (RINGS / outer)).astype(np.intp), RINGS - 1)
    p, w = coverage * pressure, coverage * squash
    area, load, rim, compression, work, p_cos, p_sin, w_cos, w_sin, c_cos, c_sin = (
        np.bincount(ring, weights=weights, minlength=RINGS)
        for weights in (coverage, p, lean * pressure, w, p * squash, p * cosine, p * sine, w * cosine, w * sine,
                        coverage * cosine, coverage * sine))
    area = np.maximum(area, 1e-12)
    swung = work - load * compression / area
    p_mean, w_mean = load / area, compression / area
    first = 2 * ((p_cos - p_mean * c_cos) * (w_cos - w_mean * c_cos) +
                 (p_sin - p_mean * c_sin) * (w_sin - w_mean * c_sin)) / area
    sampled = stride * cell
    hysteresis = pad["loss_factor"] * max(0, (2 * swung - np.minimum(first, swung)).sum() * sampled)
    middle = (np.arange(RINGS) + 0.5) * outer / RINGS
    rim *= orbit * coverage.sum() / (lean * r).sum()  # an even face has no moment at rest
    return load * sampled, rim * sampled, middle, hysteresis


def next_spin(machine, face, inertia, friction, load, rim, radius, hysteresis, speed, spin, dt):
    """Implicit Euler step of the pad's spin (rad/s) on a free bearing; on a flat plate it turns with its orbit.

    The moment of friction is the slope of its power, which is worked out at two spins close together."""
    orbit = 0.5 * machine["throw_m"]

    def power(s):
        slip, fixed = orbit * (speed - s), np.maximum(abs(s) * radius, 1e-9)
        toward = np.clip((radius**2 + orbit**2 - face**2) / (2 * orbit * radius), -1, 1)
        at_rim = rim * (math.copysign(1, s) * speed_swing(slip, fixed) + toward * second_swing(slip, fixed))
        return friction * (load * mean_speed(slip, fixed) + at_rim).sum()

    def excess(s):
        step = 1e-3
        middle = max(s, step)
        drag = (power(middle + step) - power(middle - step)) / (2 * step)
        return (machine["bearing_torque_nm"] + machine["bearing_drag_nms"] * (speed - s) - drag - hysteresis
                - inertia / dt * (s - spin))

    if excess(0) <= 0:
        return 0.0
    if excess(0.99 * speed) >= 0:
        return speed
    return brentq(excess, 0, 0.99 * speed, xtol=1e-6)


class Abrasive:
    """What is left of the liquid's cut."""

    def __init__(self, setup):
        self.liquid, self.pad = setup["liquid"], setup["pad"]
        self.base = self.liquid["cut_per_size_pa_m"] * self.pad["cut_factor"] * setup["softness"]
        self.area = math.pi * self.pad["radius_m"] ** 2
        self.recharge()

    def recharge(self):
        self.work = self.taken = self.age = 0.0

    def dryness(self):
        working = self.liquid["working_time_s"]
        late = self.age - working
        return math.exp(-late / (DRY_SHARE * working)) if working > 0 and late > 0 else 1.0

    def coefficient(self):
        start, end = self.liquid["abrasive_start_m"], self.liquid["abrasive_end_m"]
        size = end + (start - end) * math.exp(-self.work / self.liquid["breakdown_j_m2"])
        return self.base * size / (1 + self.taken / self.pad["capacity_m"]) * self.dryness()

    def friction(self):
        return self.pad["friction"] * self.liquid["friction_factor"] * (1 + DRY_DRAG * (1 - self.dryness()))

    def use(self, work, removed, dt):
        self.work += work / self.area
        self.taken += removed / self.area
        self.age += dt


def run(setup, path, spacing):
    """Removes what the path removes. Returns the plate and the mean spin (turns/min)."""
    machine, pad = setup["machine"], setup["pad"]
    orbit = machine["throw_m"] / 2
    plate = Plate(setup["plate_m"], spacing, pad, pad["radius_m"] + orbit + 0.01)
    abrasive = Abrasive(setup)
    inertia = machine["spin_inertia_kgm2"] + 0.5 * pad["area_density_kg_m2"] * math.pi * pad["radius_m"] ** 4
    cell = spacing**2
    pose, spin, turns, down_s, first = np.zeros(3), 0.0, 0.0, 0.0, True
    for a, b in zip(path[:-1], path[1:]):
        dt = b["t_s"] - a["t_s"]
        if a["recharge"]:
            abrasive.recharge()
        if a["force_n"] <= 0:
            continue
        # A lift ends the step before it at its own force.
        force = 0.5 * (a["force_n"] + b["force_n"]) if b["force_n"] > 0 else a["force_n"]
        speed = 0.5 * (a["speed"] + b["speed"])
        tilt = 0.5 * (a["tilt"] + b["tilt"])
        centre, velocity = 0.5 * (a["at"] + b["at"]), (b["at"] - a["at"]) / dt
        rim = max(orbit, 0.5 * spacing, 0.5 * dt * math.hypot(*velocity))
        reach = pad["radius_m"] + rim + 0.5 * spacing
        cells, x, y = plate.window(centre, reach)
        r = np.sqrt(x[None, :] ** 2 + y[:, None] ** 2)
        coverage, lean = rim_passage(r, rim, pad["radius_m"])
        height = levelled(plate.height[cells], coverage * plate.on[cells], x, y)
        gain = edge_gain(pad, plate, cells, centre, x, y, orbit)
        pose, pressure, squash = balance(pad, plate, cells, gain, height, coverage, x, y, force, tilt,
                                         setup["hand_stiffness_nm_rad"], pose)

        friction, coefficient = abrasive.friction(), abrasive.coefficient()
        load, at_rim, radius, hysteresis = ring_loads(pad, orbit, x, y, r, coverage, lean, pressure, squash, cell)
        spin = next_spin(machine, pad["radius_m"], inertia, friction, load, at_rim, radius, hysteresis, speed, spin,
                         math.inf if first else dt)
        first = False

        rubbing = rubbing_speed(x, y, r, coverage, lean, orbit * (speed - spin), spin, velocity)
        rate = pressure * rubbing * dt
        plate.time[cells] += coverage * (pressure > 0) * dt
        plate.pressure_time[cells] += coverage * pressure * dt
        plate.friction_path[cells] += rate
        plate.removed[cells] += coefficient * rate

        friction_path = rate.sum() * cell
        abrasive.use(friction * friction_path, coefficient * friction_path, dt)
        turns += spin * dt / (2 * math.pi)
        down_s += dt
    return plate, turns / down_s * 60


def read_path(csv):
    table = np.genfromtxt(csv, delimiter=",", names=True)
    tilt, toward = np.radians(table["tilt_deg"]), np.radians(table["tilt_toward_deg"])
    return [{"t_s": row["t_s"], "at": np.array([row["x_mm"], row["y_mm"]]) * 1e-3, "force_n": row["force_n"],
             "tilt": np.array([t * math.cos(w), t * math.sin(w)]), "speed": row["rpm"] * 2 * math.pi / 60,
             "recharge": row["recharge"] > 0} for row, t, w in zip(table, tilt, toward)]


def compare(setup, path, theirs):
    """Runs one grid. Returns the figures and whether they agree with the program's."""
    start = time.process_time()
    plate, spin = run(setup, path, theirs["spacing_m"])
    seconds = time.process_time() - start
    mine = {"removed_m3": plate.removed.sum() * plate.h**2,
            "open_median_um": plate.open_median_um(setup["pad"]["radius_m"])}
    off = {key: mine[key] / theirs[key] - 1 for key in mine}
    return {"spacing_m": theirs["spacing_m"], "times_real_time": (path[-1]["t_s"] - path[0]["t_s"]) / seconds,
            **mine, "mean_spin_per_min": spin, "off": off,
            "agrees": all(abs(o) <= AGREEMENT for o in off.values())}


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=pathlib.Path)
    parser.add_argument("--grid", type=float, nargs="*", metavar="MM", help="only these grids")
    parser.add_argument("--json", action="store_true", help="print JSON instead of lines")
    arguments = parser.parse_args()
    setup = json.loads((arguments.folder / "section.json").read_text())
    path = read_path(arguments.folder / "path.csv")

    figures = [compare(setup, path, theirs) for theirs in setup["results"]
               if not arguments.grid or any(abs(theirs["spacing_m"] * 1e3 - g) < 1e-9 for g in arguments.grid)]
    if arguments.json:
        print(json.dumps(figures, indent=1))
    else:
        for f in figures:
            print(f"{f['spacing_m'] * 1e3:g} mm: {f['times_real_time']:.0f} times real time, removed "
                  f"{f['removed_m3'] * 1e9:.3f} mm3 ({f['off']['removed_m3']:+.3%} from the program), open panel "
                  f"{f['open_median_um']:.4f} um ({f['off']['open_median_um']:+.3%}), "
                  f"{f['mean_spin_per_min']:.1f} turns/min")
    for f in figures:
        if not f["agrees"]:
            print(f"{f['spacing_m'] * 1e3:g} mm: more than {AGREEMENT:.1%} from the program", file=sys.stderr)
    return 0 if figures and all(f["agrees"] for f in figures) else 1


if __name__ == "__main__":
    sys.exit(main())
