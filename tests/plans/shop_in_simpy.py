"""The shop in SimPy (PyPI), to hold the program's simulation against; nothing here is shared with the program.

    python3 shop_in_simpy.py finish < PLAN.json    the moves' ends, with the times of the plan's steps fed in
    python3 shop_in_simpy.py speed < PLAN.json     garments a second, hand times drawn anew in each run

PLAN.json is what `dwell plan --bench ... --steps --json` prints. The order of the moves is the plan's. Operators
are one resource, asked for in that order; the presses are another, one of them held from load to unload and asked for
the moment an operator turns to its load; a press runs by itself. "arrivals" may say when garments come.
"""

import json
import random
import sys
import time

import simpy

SCATTER = 0.18


def shop(plan, takes):
    """Runs the moves with the times that `takes` gives; the end of each, in the order of the plan's steps."""
    steps = plan["steps"]
    env = simpy.Environment()
    operators = simpy.Resource(env, capacity=plan["operators"])
    presses = simpy.Resource(env, capacity=max(1, plan["presses"]))
    arrivals = plan.get("arrivals", {})
    # What each garment's next move waits for: its last move, or the run of the press that holds it.
    ready = {}
    for step in steps:
        garment = step["garment"]
        if garment not in ready:
            ready[garment] = env.timeout(arrivals.get(str(garment), 0.0))
    held = {}
    ends = [0.0] * len(steps)

    def move(number, step, before, done):
        with operators.request() as hands:
            yield hands
            garment = step["garment"]
            if step["part"] == "load":
                held[garment] = presses.request()
                yield held[garment]
            yield before
            yield env.timeout(takes(number, step))
            ends[number] = env.now
        if step["part"] == "unload":
            presses.release(held.pop(garment))
        if step["part"] == "load":
            yield env.timeout(step["run_s"])
        done.succeed()

    for number, step in enumerate(steps):
        done = env.event()
        env.process(move(number, step, ready[step["garment"]], done))
        ready[step["garment"]] = done
    env.run()
    return ends


def main():
    plan = json.load(sys.stdin)
    if sys.argv[1] == "finish":
        print(json.dumps(shop(plan, lambda number, step: step["end_s"] - step["start_s"])))
        return
    draw = random.Random(1)
    garments = {step["garment"] for step in plan["steps"]}
    runs, started = 0, time.perf_counter()
    while time.perf_counter() - started < 3.0:
        shop(plan, lambda number, step: (step["end_s"] - step["start_s"]) * draw.lognormvariate(0.0, SCATTER))
        runs += 1
    print(json.dumps({"garments_per_s": runs * len(garments) / (time.perf_counter() - started)}))


main()
