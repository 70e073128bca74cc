#!/usr/bin/env python3
"""The film's Gaussian process once more, with SciPy: readings of both kinds, some by an edge.

Prints as JSON what it took for readings and what follows from them. It shares nothing with the program: the
Matern correlation is the general one with a Bessel function (Rasmussen and Williams 2006, eq. 4.14), the
likelihood is SciPy's multivariate normal, posteriors are read off the inverse of the joint covariance of
readings and places (its lower block is the precision given the readings), and the likeliest scales come from
SciPy's optimisers.
"""
import json

import numpy as np
from scipy.optimize import differential_evolution, minimize
from scipy.special import gamma, kv
from scipy.stats import multivariate_normal

NU = 2.5
LOW = np.log([0.05, 0.005, 0.003])
HIGH = np.log([1.0, 1.5, 0.1])
MEDIAN = np.log([0.25, 0.05, 0.015])
LOG_SD = np.array([0.7, 1.0, 0.5])


def matern(r):
    z = np.sqrt(2 * NU) * np.asarray(r, dtype=float)
    safe = np.where(z > 0, z, 1.0)
    return np.where(z > 0, 2 ** (1 - NU) / gamma(NU) * safe**NU * kv(NU, safe), 1.0)


def covariance(places, weights, clear, scales):
    distance = np.hypot(*(places[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
    r = matern(distance / scales["length_m"])
    both_clear = np.outer(clear, clear)
    return scales["offset"] ** 2 + r * (
        scales["signal"] ** 2
        + scales["edge"] ** 2 * np.outer(weights, weights)
        + scales["split"] ** 2 * both_clear
    )


def reading_covariance(data, scales):
    k = covariance(data["at"], data["weight"], data["clear"], scales)
    return k + np.diag(data["noise"] ** 2 + scales["texture"] ** 2)


def main():
    rng = np.random.default_rng(20060211)
    n = 24
    scales = dict(offset=0.1, edge=0.25, split=0.08, length_m=0.23, signal=0.07, texture=0.017)
    data = dict(
        at=rng.uniform([0, 0], [0.9, 0.6], (n, 2)),
        weight=np.where(np.arange(n) % 4 == 0, rng.uniform(0.05, 0.4, n), 0.0),
        clear=(np.arange(n) % 5 == 2).astype(float),
        noise=rng.uniform(0.005, 0.02, n),
    )
    truth = reading_covariance(data, scales)
    data["y"] = multivariate_normal(np.zeros(n), truth, seed=7).rvs()

    queries = dict(
        at=rng.uniform([-0.1, -0.1], [1.0, 0.7], (15, 2)),
        weight=np.where(np.arange(15) % 3 == 0, 0.3, 0.0),
    )
    answers = []
    for of_clear in (0.0, 1.0):
        for at, weight in zip(queries["at"], queries["weight"]):
            joint = covariance(
                np.vstack([data["at"], at]),
                np.append(data["weight"], weight),
                np.append(data["clear"], of_clear),
                scales,
            )
            joint += np.diag(np.append(data["noise"] ** 2, 0.0) + scales["texture"] ** 2)
            precision = np.linalg.inv(joint)
            variance = 1 / precision[-1, -1]
            mean = -variance * precision[-1, :-1] @ data["y"]
            answers.append(dict(at=list(at), weight=weight, of_clear=bool(of_clear), mean=mean, variance=variance))

    def unlikelihood(p):
        tried = dict(scales, length_m=np.exp(p[0]), signal=np.exp(p[1]), texture=np.exp(p[2]))
        log_p = multivariate_normal(np.zeros(n), reading_covariance(data, tried)).logpdf(data["y"])
        return -log_p + 0.5 * np.sum(((p - MEDIAN) / LOG_SD) ** 2)

    rough = differential_evolution(unlikelihood, list(zip(LOW, HIGH)), seed=3, maxiter=60, popsize=8)
    best = minimize(unlikelihood, rough.x, method="L-BFGS-B", bounds=list(zip(LOW, HIGH)))

    distances = np.linspace(0, 4, 17)
    print(
        json.dumps(
            dict(
                scales=scales,
                readings=[
                    dict(at=list(a), weight=w, of_clear=bool(c), y=y, noise=s)
                    for a, w, c, y, s in zip(data["at"], data["weight"], data["clear"], data["y"], data["noise"])
                ],
                matern=[[d, float(m)] for d, m in zip(distances, matern(distances))],
                posterior=answers,
                log_marginal_likelihood=float(multivariate_normal(np.zeros(n), truth).logpdf(data["y"])),
                likeliest=dict(zip(("length_m", "signal", "texture"), np.exp(best.x))),
                unlikelihood=float(best.fun),
            )
        )
    )


if __name__ == "__main__":
    main()
