"""The solver at work: exact options, rounded values, statuses read with their solution statuses.

With :mod:`optimizer.milp.wiring_rows` and :mod:`optimizer.milp.model` the only place that knows PuLP and the solvers.
"""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from time import monotonic
from typing import Any

import highspy
import numpy as np
import pulp

from optimizer.milp.model import Model
from optimizer.milp.wiring_rows import LinearObjective
from optimizer.vocabulary.faults import OutOfTimeError, SolverError

INTEGRAL = 1e-6  # how far a solver may leave a whole number before its solution is refused
HIGHS_OPTIONS = {
    # not tighter than 1e-6: at 1e-9 the solver's presolve was seen to call models infeasible that are not. Values
    # are rounded, and every row is then checked with the whole values
    # (in a mixed-integer model it also replaces the primal tolerance)
    "mip_feasibility_tolerance": 1e-6,
    # the models are small: what finds first solutions of large ones only takes time
    "mip_heuristic_run_feasibility_jump": False,
    "mip_heuristic_effort": 0.0,
    "mip_allow_restart": False,
}
ROADS: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    # how a model is solved first, and how once more where that found nothing. CBC's preprocessing was seen to lose
    # solutions and to end at wrong optima, so it only confirms
    "highs": ({}, {"presolve": "off"}),
    "cbc": ({"preprocess": "preprocess off"}, {"preprocess": "preprocess sos"}),
}
ROUNDING = 1e-9  # of the largest term of a row
WITHIN_A_CENT = 0.5  # objectives are whole numbers: half of one apart is no gap at all


@dataclass(frozen=True)
class Solution:
    """Whole values by variable name, and the whole value of the objective."""

    values: Mapping[str, int]
    value: int


def available(solver: str) -> bool:
    """Whether the named solver ("highs" or "cbc") runs here."""
    return bool(_solver(solver).available())


@cache
def _silence() -> None:
    """The first HiGHS object of a process writes a banner straight to the process's standard output, where answers
    go; it is made here, and what it writes is thrown away."""
    sys.stdout.flush()
    kept = os.dup(1)
    sink = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(sink, 1)
        highspy.Highs()  # type: ignore[no-untyped-call]
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(sink)


def _solver(name: str, seconds: float | None = None, **more: Any) -> Any:  # the library brings no types
    if name == "highs":
        _silence()
        # the solver's own default stops at a gap of 1e-4, which is dollars
        return pulp.HiGHS(
            msg=False, gapRel=0.0, gapAbs=WITHIN_A_CENT, threads=1, timeLimit=seconds, **HIGHS_OPTIONS, **more
        )
    with warnings.catch_warnings():
        # the second solver comes inside this major version of the library, which the project pins
        warnings.simplefilter("ignore", DeprecationWarning)
        return pulp.PULP_CBC_CMD(
            msg=False,
            gapRel=0.0,
            gapAbs=WITHIN_A_CENT,
            threads=1,
            timeLimit=seconds,
            options=["integerT 1e-9", *more.values()],
        )


def least(model: Model, objective: LinearObjective, solver: str, seconds: float | None = None) -> Solution | None:
    """Make one objective least, in so many ``seconds``; None where the model has no solution.

    Raises :class:`OutOfTimeError`, and :class:`SolverError` where the solver stops early, or returns values that are
    not whole.
    """
    problem, until = model.problem, None if seconds is None else monotonic() + seconds
    problem.setObjective(objective.expression)
    first, second = ROADS[solver]
    _run(problem, _solver(solver, _left(until), **first))
    if solver == "highs":
        _read_options_back(problem)
    if problem.status == pulp.LpStatusInfeasible:
        _run(problem, _solver(solver, _left(until), **second))  # believed only when found twice, by different roads
    if problem.status == pulp.LpStatusInfeasible:
        return None
    if problem.status != pulp.LpStatusOptimal or problem.sol_status != pulp.LpSolutionOptimal:
        _left(until)
        raise SolverError(f"solver status {problem.status}, solution status {problem.sol_status}")
    return _rounded(problem, objective, [variable.varValue or 0.0 for variable in problem.variables()])


def _left(until: float | None) -> float | None:
    """The seconds that are left. Raises :class:`OutOfTimeError` where none are."""
    left = None if until is None else until - monotonic()
    if left is not None and left <= 0:
        raise OutOfTimeError
    return left


def _run(problem: pulp.LpProblem, solver: Any) -> None:  # the library brings no types
    """Solve; a solver program that leaves no solution behind has seen at once that there is none."""
    try:
        problem.solve(solver)
    except pulp.PulpSolverError:
        problem.status = pulp.LpStatusInfeasible


def _rounded(problem: pulp.LpProblem, objective: LinearObjective, found: Sequence[float]) -> Solution:
    """Whole values, each near enough to what was found, with which every row holds."""
    values = {}
    for variable, exact in zip(problem.variables(), found, strict=True):
        values[variable.name] = round(exact)
        if abs(exact - values[variable.name]) > INTEGRAL:
            raise SolverError(f"{variable.name} = {exact} is not whole")
    _check_rows(problem, values)
    return Solution(values, _value(objective, values))


def in_order(
    model: Model, cost: int, objectives: Iterable[LinearObjective], solver: str,
    start: Mapping[str, int] | None = None, seconds: float | None = None,
) -> Solution:  # fmt: skip
    """Among the solutions that cost ``cost`` cents, the first by ``objectives``, each made least in turn, in so many
    ``seconds`` together. ``start``: values of such a solution by variable, as far as they are known. Raises
    :class:`OutOfTimeError` and :class:`SolverError`."""
    problem, solution, until = model.problem, None, None if seconds is None else monotonic() + seconds
    # objectives are whole numbers: half of one apart keeps the solver's rounding out and lets no other value in
    problem += model.cost.expression <= cost + WITHIN_A_CENT
    if start is not None and solver == "highs":
        _copy(problem, model.cost)
    for objective in objectives:
        # the same solver object goes on from the solution before, and is built anew only where it cannot
        before = start if solution is None else solution.values
        solution = None
        if before is not None and solver == "highs":
            solution = _again(model, objective, before, _left(until))
        solution = solution or least(model, objective, solver, _left(until))
        if solution is None:
            raise SolverError("a solution was lost while ordering equal totals")
        problem += objective.expression <= solution.value + WITHIN_A_CENT
        if solver == "highs":
            _add_row(problem, objective, solution.value + WITHIN_A_CENT)
    if solution is None:
        raise SolverError("nothing to order equal totals by")
    return solution


def _copy(problem: pulp.LpProblem, objective: LinearObjective) -> None:
    """Make the solver's own copy of the problem, not solved yet."""
    problem.setObjective(objective.expression)
    solver = _solver("highs")
    solver.createAndConfigureSolver(problem)
    solver.buildSolverModel(problem)


def _add_row(problem: pulp.LpProblem, objective: LinearObjective, most: float) -> None:
    """The row "objective at most" in the solver's own copy of the problem."""
    terms = [(variable.index, coefficient) for variable, coefficient in objective.expression.items()]
    problem.solverModel.addRow(-float("inf"), most, len(terms), [i for i, _ in terms], [c for _, c in terms])


def _again(
    model: Model, objective: LinearObjective, before: Mapping[str, int], seconds: float | None
) -> Solution | None:  # fmt: skip
    """Solve the solver's own copy for another objective, beginning with the values of the solution before, which meets
    it too; None where it does not end at a proven optimum. Without a beginning it was seen to look for one for a
    minute."""
    highs = model.problem.solverModel
    variables = model.problem.variables()
    costs = np.zeros(len(variables))
    for variable, coefficient in objective.expression.items():
        costs[variable.index] = coefficient
    start = {variable.index: float(before[variable.name]) for variable in variables if variable.name in before}
    highs.changeColsCost(len(costs), np.arange(len(costs), dtype=np.int32), costs)
    highs.setSolution(len(start), np.array(list(start), dtype=np.int32), np.array(list(start.values())))
    if seconds is not None:
        highs.setOptionValue("time_limit", highs.getRunTime() + seconds)  # its clock goes on from run to run
    highs.run()
    if str(highs.modelStatusToString(highs.getModelStatus())) != "Optimal":
        return None
    _read_options_back(model.problem)
    found = _rounded(model.problem, objective, highs.getSolution().col_value)
    # it was seen to give back where it began and not what it proved
    return found if found.value <= highs.getInfo().mip_dual_bound + WITHIN_A_CENT else None


def _check_rows(problem: pulp.LpProblem, values: dict[str, int]) -> None:
    """Every row must hold with the rounded values, but for the rounding of adding up."""
    for row in problem.constraints():
        terms = [coefficient * values[variable.name] for variable, coefficient in row.items()]
        left = sum(terms) + row.constant
        wrong = left if row.sense == pulp.LpConstraintLE else -left if row.sense == pulp.LpConstraintGE else abs(left)
        if wrong > ROUNDING * (1 + max(map(abs, terms), default=0.0)):
            raise SolverError(f"a rounded solution breaks a row by {wrong}")


def _value(objective: LinearObjective, values: dict[str, int]) -> int:
    total = float(objective.expression.constant)
    return round(sum((c * values[v.name] for v, c in objective.expression.items()), total))


def _read_options_back(problem: pulp.LpProblem) -> None:
    """An unknown option is ignored in silence, so what must be exact is read back."""
    for name, wanted in (("mip_rel_gap", 0.0), ("mip_abs_gap", WITHIN_A_CENT), *HIGHS_OPTIONS.items()):
        found = problem.solverModel.getOptionValue(name)[1]
        if found != wanted:
            raise SolverError(f"the solver did not take {name} = {wanted}: {found}")
