#!/usr/bin/env python3
"""The first points of Sobol's sequence in one to five and in forty dimensions, by SciPy."""
import json

from scipy.stats import qmc

print(json.dumps({str(d): qmc.Sobol(d, scramble=False).random(256).tolist() for d in (1, 2, 3, 4, 5, 40)}))
