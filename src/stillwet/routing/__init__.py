"""Who sprays what and in which order: an immutable problem, solvers behind one protocol.

How to use it (each name in its module, nothing heavy is imported before a solver runs)::

    places = problem.places_of(crews, visits, fill_points, depots)
    travel = {"engine": roads.straight_line_travel(places, speed_m_s=15.0)}
    task = problem.RoutingProblem(crews, visits, fill_points, depots, travel)
    plan = pyvrp_solver.PyvrpSolver().solve(task, seed=1, budget=solver.Budget(seconds=10))
    faults = validator.validate_plan(task, plan)  # a second opinion, empty when sound

==================  ================================================================================
problem             RoutingCrew, Visit, FillPoint, ConcentrateDepot, TravelMatrix, RoutingProblem,
                    places_of
roads               straight_line_travel, road_travel over a RoadGraph
plan                RoutePlan of CrewRoutes (Stop, Refill, ConcentrateLoad) and Unserved (Relief)
solver              Solver (the protocol), Budget, Progress
pyvrp_solver        PyvrpSolver: the main solver
greedy_solver       GreedySolver: the floor under it, and the fallback
validator           validate_plan -> Violations
replan              remaining_problem, changes_between -> Changes
==================  ================================================================================

Inside: arrays, kernel (one crew, compiled), clockwork (all crews, compiled), schedule
(timetables), search (insertion, repair, ruin and recreate), pyvrp_model, watch, left_out, loosen,
answer.
Impossible is a result with its reason, never an exception.
"""
