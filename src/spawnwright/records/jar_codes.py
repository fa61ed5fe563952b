"""The codes on the lids: a letter for the sterilizer run and a number for the jar."""

from __future__ import annotations

from spawnwright.records.plan import Plan


def run_letter(run: int) -> str:
    """A for run 1, B for run 2, … AA after Z; S for jars that were sterile before.

    >>> [run_letter(run) for run in (0, 1, 26, 27)]
    ['S', 'A', 'Z', 'AA']
    """
    if run <= 0:
        return "S"
    letters = ""
    while run > 0:
        run, rest = divmod(run - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return letters


def jar_codes(plan: Plan) -> dict[str, tuple[int, bool]]:
    """The code of every jar with its run (0: sterile before) and whether it is a control.

    The control jars are the last of their run.
    """
    codes: dict[str, tuple[int, bool]] = {}
    from_runs = sum(run.jars - run.controls for run in plan.sterilizer_runs)
    for jar in range(1, plan.jars_to_make - from_runs + 1):
        codes[f"{run_letter(0)}{jar}"] = (0, False)
    for number, run in enumerate(plan.sterilizer_runs, 1):
        for jar in range(1, run.jars + 1):
            codes[f"{run_letter(number)}{jar}"] = (number, jar > run.jars - run.controls)
    return codes
