"""Prediction factors by numerical integration: `python -m tests.fit.prediction_factors` writes the table.

All m future cavities are at least mean - r s with probability 0.95 when

    E_w E_z [ Phi(r w - z / sqrt(n)) ** m ] = 0.95

with z standard normal (the mean of n readings) and w = s / sigma, chi with nu degrees over sqrt(nu).
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from scipy.special import gammaln, log_ndtr
from scipy.stats import f as f_distribution

TABLE = Path(__file__).parents[2] / "seed_data" / "reference" / "prediction.json"
CONFIDENCE = 0.95
CONFLICT = 0.3
N = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 20, 30, 50, 100]
M = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 18, 20, 22, 25, 30, 35, 40, 50, 60, 70, 80, 100]
M += [120, 150, 200, 300, 500, 1000, 2000, 5000, 10000, 50000]
NU = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 16, 19, 22, 25, 29, 35, 40, 50, 70, 100, 200]
Z = np.linspace(-8.5, 8.5, 681)
X = np.concatenate([np.linspace(-12, 14, 2601), [40.0]])
LOG_W = np.linspace(-16, 3, 3801)


def all_above(n: int, m: int) -> CubicSpline:
    """Chance that m future values all lie above the mean of n less x sigmas, as a function of x."""
    weight = np.exp(-(Z**2) / 2)
    weight /= weight.sum()
    logs = m * log_ndtr(X[:, None] - Z[None, :] / np.sqrt(n))
    return CubicSpline(X, np.exp(logs) @ weight)


def spread_weights(nu: int) -> np.ndarray:
    """Density of log(s / sigma) on LOG_W, as weights that sum to 1."""
    logs = nu * LOG_W - nu * np.exp(2 * LOG_W) / 2 + np.log(2) + nu / 2 * np.log(nu / 2) - gammaln(nu / 2)
    weights = np.exp(logs) * (LOG_W[1] - LOG_W[0])
    return weights / weights.sum()


def factor(n: int, m: int, nu: int, above: CubicSpline | None = None) -> float:
    """One-sided prediction factor r for m further values, s with nu degrees of freedom."""
    chance, weights, w = above or all_above(n, m), spread_weights(nu), np.exp(LOG_W)

    def missing(r: float) -> float:
        return float(weights @ chance(np.minimum(r * w, 40.0))) - CONFIDENCE

    return float(brentq(missing, 0.01, 20000, xtol=1e-7))


def conflicts() -> list[list[int]]:
    """Upper 30 % points of the F distribution, own degrees of freedom by those of a prior: thousandths, rounded down.

    Of all degrees between the row before and this one the smallest point: with a prior of few degrees they rise a little.
    """
    firsts = [1, *(before + 1 for before in NU[:-1])]
    spans = [range(first, last + 1) for first, last in zip(firsts, NU, strict=True)]
    return [[int(min(f_distribution.isf(CONFLICT, list(span), prior)) * 1000) for prior in NU] for span in spans]


def table() -> dict[str, object]:
    """The shipped table: thousandths, rounded up."""
    factors = [[[0] * len(M) for _ in NU] for _ in N]
    for i, n in enumerate(N):
        for k, m in enumerate(M):
            above = all_above(n, m)
            for j, nu in enumerate(NU):
                factors[i][j][k] = int(np.ceil(factor(n, m, nu, above) * 1000 - 1e-3))
    for i in reversed(range(len(N) - 1)):  # fewer readings never give less, not even in the fourth digit
        factors[i] = [
            [max(pair) for pair in zip(*rows, strict=True)] for rows in zip(factors[i], factors[i + 1], strict=True)
        ]
    return {
        "title": "One-sided 95 % prediction factors r: all m further values lie at or above mean - r s",
        "unit": "thousandths, rounded up",
        "order": "factors[n][degrees][m]",
        "source": "Numerical integration of the multivariate t distribution with correlation 1/(n+1), made by tests/fit/prediction_factors.py; scope as ISO 16269-8:2004 (its tables not read)",
        "edition": "1",
        "how_known": "computed; agrees with independently computed factors to 0.002",
        "confidence_pct": 95,
        "n": N,
        "degrees": NU,
        "m": M,
        "conflict_order": "conflicts[own degrees][degrees of the prior]",
        "conflict_source": "Upper 30 % points of the F distribution, in thousandths, rounded down; scipy.stats.f.isf, made by tests/fit/prediction_factors.py",
        "conflicts": conflicts(),
        "factors": factors,
    }


def written(value: object) -> str:
    """A value as it stands in the table: tables of tables row by row."""
    if isinstance(value, list) and isinstance(value[0], list):
        return "[\n" + ",\n".join(f"  {json.dumps(row, separators=(',', ':'))}" for row in value) + "\n ]"
    return json.dumps(value, ensure_ascii=False)


if __name__ == "__main__":
    made = table()
    factors = made.pop("factors")
    head = "".join(f" {json.dumps(name)}: {written(value)},\n" for name, value in made.items())
    rows = ",\n".join(
        "  [\n" + ",\n".join(f"   {json.dumps(row, separators=(',', ':'))}" for row in each) + "\n  ]"
        for each in factors
    )  # type: ignore[attr-defined]
    TABLE.parent.mkdir(parents=True, exist_ok=True)
    TABLE.write_text(f'{{\n{head} "factors": [\n{rows}\n ]\n}}\n', encoding="utf-8")
