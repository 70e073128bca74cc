#!/usr/bin/env python3
"""A pad's foam as an elastic layer under its plate, at its own rim and over the edge of a panel, by finite elements.

Plane strain, bilinear square elements, Poisson's ratio 0.2. The layer of thickness H is bonded to a rigid plate that
is pressed down by 1e-3 H; below it lies a rigid panel without friction, which cannot pull (contact by an active
set); its side is free. The pad's rim stands `out` past the panel's edge and `back` past the plate's rim (negative `out`
never happens: a rim over open panel is the case out = 0). Pressures are over that of the middle of the pad.

Prints one JSON object: for a rim over open panel the pressure at distances from the plate's rim, and the mean over
the last 4 mm before the edge for pads level with it and out past it.
"""
import json

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import spsolve

SIDE = 1.0  # mm, of an element


def pressed(thickness, out=0.0, back=0.0, nu=0.2, width=90.0):
    """x from the panel's edge, negative over the panel, and the nodes' load per mm over that of an even pad."""
    nx, ny = round((width + out) / SIDE), round(thickness / SIDE)
    x = -width + SIDE * np.arange(nx + 1)
    lam, mu = nu / ((1 + nu) * (1 - 2 * nu)), 1 / (2 * (1 + nu))
    stiff = np.array([[lam + 2 * mu, lam, 0], [lam, lam + 2 * mu, 0], [0, 0, mu]])
    ke = np.zeros((8, 8))
    for a in (-(3 ** -0.5), 3 ** -0.5):
        for b in (-(3 ** -0.5), 3 ** -0.5):
            dn = np.array([[b - 1, 1 - b, 1 + b, -1 - b], [a - 1, -1 - a, 1 + a, 1 - a]]) / (2 * SIDE)
            strain = np.zeros((3, 8))
            strain[0, 0::2] = strain[2, 1::2] = dn[0]
            strain[1, 1::2] = strain[2, 0::2] = dn[1]
            ke += strain.T @ stiff @ strain * (SIDE / 2) ** 2
    i, j = (m.ravel() for m in np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij"))
    node = lambda i, j: i * (ny + 1) + j
    corners = np.stack([node(i, j), node(i + 1, j), node(i + 1, j + 1), node(i, j + 1)], 1)
    dofs = np.stack([2 * corners, 2 * corners + 1], 2).reshape(len(corners), 8)
    size = 2 * (nx + 1) * (ny + 1)
    k = sp.csr_matrix((np.tile(ke.ravel(), len(corners)),
                       (np.repeat(dofs, 8, 1).ravel(), np.tile(dofs, (1, 8)).ravel())), shape=(size, size))
    held = {2 * node(0, j): 0.0 for j in range(ny + 1)}  # the middle of a wide pad
    for i in np.flatnonzero(x <= out - back + 1e-9):
        held[2 * node(i, ny)], held[2 * node(i, ny) + 1] = 0.0, -1e-3 * thickness
    over = [node(i, 0) for i in np.flatnonzero(x <= 1e-9)]
    touching = set(over)
    while True:
        fixed = {**held, **{2 * n + 1: 0.0 for n in touching}}
        at = np.array(sorted(fixed))
        u = np.zeros(size)
        u[at] = [fixed[d] for d in at]
        free = np.setdiff1d(np.arange(size), at)
        u[free] = spsolve(k[free][:, free].tocsc(), -(k[free] @ u))
        reaction = k @ u
        now = {n for n in over if (reaction[2 * n + 1] > 0 if n in touching else u[2 * n + 1] < 0)}
        if now == touching:
            break
        touching = now
    load = np.array([reaction[2 * n + 1] for n in over]) / SIDE
    xs = x[x <= 1e-9]
    middle = load[(xs > -0.75 * width) & (xs < -0.65 * width)].mean()
    return xs, load / middle


def last(xs, load, length=4.0):
    """Mean pressure over the last mm before the edge: a node at its end counts half."""
    share = np.where(np.isclose(xs, -length), 0.5, 1.0) * (xs >= -length - 1e-9)
    return float((share * load).sum() * SIDE / length)


rims = []
for thickness in (25.0, 12.0):
    for back in (0.0, 2.0, 5.0, 12.0):
        xs, load = pressed(thickness, back=back)
        for inside in (-9, -6, -3, -1, 1, 3, 6, 10, 15, 25):
            if -inside > back - 1:
                continue
            rims.append({"thickness_mm": thickness, "back_mm": back, "inside_plate_mm": inside,
                         "share": float(np.interp(-(inside + back), xs, load))})
edges = [{"out_mm": out, "last_4_mm": last(*pressed(25.0, out=out))} for out in (0.0, 4.0, 8.0, 15.0, 60.0)]
print(json.dumps({"rims": rims, "edges": edges}))
