#!/usr/bin/env python3
"""A wet panel under even heat, solved apart from the program it checks.

A steel sheet is one temperature; a plastic one is 60 even layers. Both by Crank and Nicolson (Proc. Camb. Phil. Soc.
43, 50, 1947), 5 ms a step, the evaporation taken at the step's middle by fixed-point iteration, until the water is
gone. Vapour pressure of water by Magnus's formula with the coefficients of Alduchov and Eskridge (1996), mass transfer by the
analogy of Chilton and Colburn (1934). Prints temperatures (over the air) and water left at some times.
"""
import json
import math

import numpy as np

AIR, HUMIDITY, LATENT, LEWIS = 20.0, 0.5, 2.407e6, 0.86


def vapour(t):
    return 610.94 * math.exp(17.625 * t / (243.04 + t)) / (461.5 * (273.15 + t))


def rate(t, convection):
    rho_c = 101325 / (287.05 * (273.15 + AIR)) * 1007
    return max(0.0, convection / (rho_c * LEWIS ** (2 / 3)) * (vapour(t) - HUMIDITY * vapour(AIR)))


def run(layers, thickness, density, heat_capacity, conductivity, flux, water, convection, top, bottom, times):
    n = layers
    dx = thickness / (n - 1) if n > 1 else thickness
    capacity = np.full(n, density * heat_capacity * dx)
    if n > 1:
        capacity[[0, -1]] /= 2
    matrix = np.zeros((n, n))
    for i in range(n - 1):
        g = conductivity / dx
        matrix[i, i] += g
        matrix[i + 1, i + 1] += g
        matrix[i, i + 1] -= g
        matrix[i + 1, i] -= g
    matrix[0, 0] += top
    matrix[-1, -1] += bottom
    dt = 0.005
    left = np.linalg.inv(np.diag(capacity / dt) + matrix / 2)
    right = np.diag(capacity / dt) - matrix / 2
    rise, out, t = np.zeros(n), [], 0.0
    for stop in times:
        while t < stop - dt / 2:
            after = rise.copy()
            for _ in range(6):
                gone = min(rate(AIR + 0.5 * (rise[0] + after[0]), convection), water / dt)
                source = np.zeros(n)
                source[0] = flux - LATENT * gone
                after = left @ (right @ rise + source)
            rise, water, t = after, max(0.0, water - gone * dt), t + dt
        out.append({"time_s": stop, "rise_k": float(rise[0]), "water_kg_m2": water})
    return out


print(json.dumps({
    "air_c": AIR, "humidity": HUMIDITY, "convection_w_m2k": 4.5,
    "steel": run(1, 0.7e-3, 7850, 460, 50, 1500, 0.04, 4.5, 10, 5, [5, 10, 20, 40, 80]),
    "plastic": run(60, 3e-3, 1000, 1750, 0.22, 800, 0.03, 4.5, 10, 5, [5, 10, 20, 40, 80]),
}))
