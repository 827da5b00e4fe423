"""The same programme built and solved by others, all with HiGHS.  Each returns the optimum.

Imported when first called: each takes seconds to import.
"""

from __future__ import annotations

import numpy as np
from problems import Arrays
from scipy.optimize import linprog


def with_linprog(problem: Arrays) -> float:
    """Solve the arrays with scipy, which hands them to HiGHS."""
    return float(linprog(**problem, method="highs").fun)


def with_pulp(problem: Arrays) -> float:
    """Build and solve the arrays with PuLP."""
    import pulp

    model = pulp.LpProblem("mix", pulp.LpMinimize)
    x = [
        pulp.LpVariable(f"x{index}", low, None if np.isinf(high) else high)
        for index, (low, high) in enumerate(problem["bounds"])
    ]

    def total(row: np.ndarray) -> object:
        return pulp.lpSum(float(row[at]) * x[at] for at in np.flatnonzero(row))

    model += total(problem["c"])
    for row, bound in zip(problem["A_ub"], problem["b_ub"], strict=True):
        model += total(row) <= bound
    model += total(problem["A_eq"][0]) == problem["b_eq"][0]
    model.solve(pulp.HiGHS(msg=False))
    return float(pulp.value(model.objective))


def with_cvxpy(problem: Arrays) -> float:
    """Build and solve the arrays with CVXPY."""
    import cvxpy

    x = cvxpy.Variable(len(problem["c"]))
    low, high = problem["bounds"].T
    finite = np.isfinite(high)
    demands = [
        problem["A_ub"] @ x <= problem["b_ub"],
        problem["A_eq"] @ x == problem["b_eq"],
        x >= low,
        x[finite] <= high[finite],
    ]
    model = cvxpy.Problem(cvxpy.Minimize(problem["c"] @ x), demands)
    return float(model.solve(solver=cvxpy.HIGHS))


def with_pyomo(problem: Arrays) -> float:
    """Build and solve the arrays with Pyomo."""
    import pyomo.environ as pyomo
    from pyomo.contrib.appsi.solvers import Highs

    model = pyomo.ConcreteModel()
    high = [None if np.isinf(each) else float(each) for each in problem["bounds"][:, 1]]
    bounds = list(zip(problem["bounds"][:, 0].tolist(), high, strict=True))
    model.x = pyomo.Var(range(len(bounds)), bounds=dict(enumerate(bounds)))

    def total(row: np.ndarray) -> object:
        return sum(float(row[at]) * model.x[int(at)] for at in np.flatnonzero(row))

    model.wish = pyomo.Objective(expr=total(problem["c"]))
    model.rows = pyomo.ConstraintList()
    for row, bound in zip(problem["A_ub"], problem["b_ub"], strict=True):
        model.rows.add(total(row) <= float(bound))
    model.rows.add(total(problem["A_eq"][0]) == float(problem["b_eq"][0]))
    Highs().solve(model)
    return float(pyomo.value(model.wish))
