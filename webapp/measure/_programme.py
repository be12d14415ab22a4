"""Linear programmes, by scipy's HiGHS: the one place in the measure that asks it, loaded when it is called."""

from collections.abc import Sequence

Bounds = Sequence[tuple[float | None, float | None]]


def minimum(
    costs: Sequence[float], rows: Sequence[Sequence[float]], bounds: Bounds, whole: Sequence[float] | None = None
) -> list[float] | None:
    """The x with the least sum of costs times x, where every row times x is at least zero and x keeps its bounds.

    whole: coefficients whose sum with x must be exactly 1; None: no such condition. None if there is no such x.
    """
    from scipy.optimize import linprog

    done = linprog(
        costs, A_ub=[[-a for a in row] for row in rows] or None, b_ub=[0.0] * len(rows) or None,
        A_eq=[whole] if whole else None, b_eq=[1.0] if whole else None, bounds=bounds, method="highs",
    )  # fmt: skip
    return [float(x) for x in done.x] if done.status == 0 else None
