#!/usr/bin/env python3
"""A circular pad pressed on a sphere-crowned panel, solved apart from the program it checks.

The panel is z = -r^2 / (2 R); the pad's face is flat, of radius Rp, on a layer of thickness H. With the
compression at the crown w0, the layer at r is compressed by w = w0 - r^2 / (2 R) and presses with

    p(r) = sigma(w / H) + (2 G / R) min(1, w / (engage H)),     0 where w <= 0,

sigma the foam's law (linear, plateau, densification: Gibson and Ashby, Cellular Solids, 2nd ed. 1997,
ch. 5), G the shear stiffness of a bonded layer with a linear profile, E H / (6 (1 + nu)) (Vlasov and
Leont'ev 1966), times the panel's curvature lap z = -2 / R. The last factor lets the shear layer pull in
full only once it is pressed on by `engage` of its thickness, as the program has it.

One unknown, w0, follows from the force: F = integral of p 2 pi r dr (adaptive quadrature, Brent's root).

Prints one JSON object: the pad, the cases (SI units) and, as a check of this script by itself, the linear
layer without shear, whose force on a sphere is known in closed form: F = pi k w0^2 R with k = E / H
(K. L. Johnson, Contact Mechanics, 1985, section 4.3: P = (pi/4) (K a / h) a^3 / R with a^2 = 2 R w0).
"""
import json
import math

from scipy.integrate import quad
from scipy.optimize import brentq

PAD = {
    "radius_m": 0.075,
    "thickness_m": 0.025,
    "modulus_pa": 60e3,
    "plateau_pa": 5e3,
    "densification_strain": 0.8,
    "poisson": 0.2,
}
ENGAGE_STRAIN = 0.01
CASES = [  # radius of the crown (m), force (N); the sharper ones are touched by part of the face only
    (0.4, 20.0), (0.4, 45.0), (0.8, 20.0), (0.8, 45.0), (2.0, 45.0), (2.0, 80.0), (10.0, 45.0),
]


def foam_pressure(strain):
    """sigma(strain), Pa: three regimes joined without corners."""
    elastic = PAD["modulus_pa"] * strain / PAD["plateau_pa"]
    packed = strain / PAD["densification_strain"]
    return PAD["plateau_pa"] * (elastic / math.sqrt(1 + elastic**2) + packed**3 / (1 - packed))


def pasternak_layer(crown_radius):
    """p(w), Pa, of the nonlinear foam with its shear layer on a crown."""
    thickness = PAD["thickness_m"]
    shear = PAD["modulus_pa"] * thickness / (6 * (1 + PAD["poisson"]))
    return lambda w: foam_pressure(w / thickness) + 2 * shear / crown_radius * min(1, w / (ENGAGE_STRAIN * thickness))


def linear_layer():
    """p(w), Pa, of a linear foundation."""
    foundation = PAD["modulus_pa"] / PAD["thickness_m"]
    return lambda w: foundation * w


def contact_radius(crown_radius, crown_compression):
    return min(PAD["radius_m"], math.sqrt(2 * crown_radius * crown_compression))


def force(layer, crown_radius, crown_compression):
    """Force (N) that presses the crown in by crown_compression (m)."""
    edge = contact_radius(crown_radius, crown_compression)
    # The shear layer's ramp ends in a corner of p(r); quad is told where.
    engaged = crown_compression - ENGAGE_STRAIN * PAD["thickness_m"]
    corner = math.sqrt(2 * crown_radius * engaged) if engaged > 0 else 0
    value, _ = quad(lambda r: 2 * math.pi * r * layer(crown_compression - r**2 / (2 * crown_radius)), 0, edge,
                    points=[corner] if 0 < corner < edge else None, epsabs=1e-10, epsrel=1e-10, limit=200)
    return value


def solve(crown_radius, target_force):
    layer = pasternak_layer(crown_radius)
    deepest = 0.99 * PAD["densification_strain"] * PAD["thickness_m"]
    compression = brentq(lambda w: force(layer, crown_radius, w) - target_force, 1e-9, deepest, xtol=1e-13)
    edge = contact_radius(crown_radius, compression)
    return {
        "crown_radius_m": crown_radius,
        "force_n": target_force,
        "contact_radius_m": edge,
        "crown_compression_m": compression,
        "crown_pressure_pa": layer(compression),
        "half_radius_pressure_pa": layer(compression - (edge / 2) ** 2 / (2 * crown_radius)),
    }


def linear_check(crown_radius, compression):
    assert contact_radius(crown_radius, compression) < PAD["radius_m"], "the closed form needs a contact inside the pad"
    foundation = PAD["modulus_pa"] / PAD["thickness_m"]
    return {
        "crown_radius_m": crown_radius,
        "crown_compression_m": compression,
        "force_n": force(linear_layer(), crown_radius, compression),
        "closed_form_n": math.pi * foundation * compression**2 * crown_radius,
    }


def main():
    print(json.dumps({
        "pad": PAD,
        "cases": [solve(*case) for case in CASES],
        "linear": [linear_check(0.4, 0.003), linear_check(0.8, 0.002), linear_check(2.0, 0.001)],
    }, indent=1))


if __name__ == "__main__":
    main()
