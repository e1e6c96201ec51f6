"""EC from ions against handbook figures and chemistry engines, solution by solution.

Run ``python -m benchmarks.conductivity``. PHREEQC runs live where phreeqpython is installed;
the figures of pyEQL are read from ``tests/published/pyeql_conductivity.csv``, which
``tests/published/record_pyeql.py`` makes.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

from saltcalc.science import phreeqc
from saltcalc.science.conductivity import ec_from_ions

PUBLISHED = Path(__file__).parents[1] / "tests" / "published"


def rows(table: str) -> list[dict[str, str]]:
    with (PUBLISHED / table).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def extract_ions(extract: dict[str, str]) -> dict[str, float]:
    return {key: float(cell) for key, cell in extract.items() if key not in {"id", "kind", "ph"}}


def _off(value: float, reference: float) -> str:
    return f"{100 * (value / reference - 1):+6.2f} %"


def handbook() -> None:
    print("Equivalent conductivity of single salts, S cm²/mol_c at 25 °C")
    print(f"{'salt':8}{'mol_c/L':>9}{'handbook':>10}{'computed':>10}{'off':>10}")
    for row in rows("equivalent_conductivity.csv"):
        amount = float(row["concentration"])
        both = {row["cation"]: 1e3 * amount, row["anion"]: 1e3 * amount}
        computed = float(ec_from_ions(both).ec) / amount
        reference = float(row["equivalent_conductivity"])
        mark = "" if row["fitted"] == "yes" else f"  {row['note']}"
        print(
            f"{row['salt']:8}{amount:9.3f}{reference:10.2f}{computed:10.2f}"
            f"{_off(computed, reference):>10}{mark}"
        )


def extracts() -> None:
    pyeql = {row["id"]: float(row["ec"]) for row in rows("pyeql_conductivity.csv")}
    installed = phreeqc.available()
    print("\nMixed extracts (invented compositions), dS/m at 25 °C")
    print(
        f"{'id':5}{'kind':18}{'I mol/L':>8}{'computed':>10}{'PHREEQC':>9}{'off':>10}"
        f"{'pyEQL':>9}{'off':>10}"
    )
    worst = {True: 0.0, False: 0.0}
    for extract in rows("extracts.csv"):
        ions, ph = extract_ions(extract), float(extract["ph"])
        found = ec_from_ions(ions, ph)
        ec, strength = float(found.ec), float(found.ionic_strength)
        engine = phreeqc.solve(ions, ph).ec if installed else np.nan
        worst[strength <= 0.1] = max(worst[strength <= 0.1], abs(ec / engine - 1))
        other = pyeql[extract["id"]]
        print(
            f"{extract['id']:5}{extract['kind']:18}{strength:8.3f}{ec:10.3f}{engine:9.3f}"
            f"{_off(ec, engine):>10}{other:9.3f}{_off(ec, other):>10}"
        )
    print(f"largest distance from PHREEQC: {100 * worst[True]:.2f} % to 0.1 mol/L, ", end="")
    print(f"{100 * worst[False]:.2f} % above (to 0.3). pyEQL knows no ion pairs, so it reads")
    print("high wherever sulfate meets calcium or magnesium.")


def main() -> None:
    handbook()
    extracts()


if __name__ == "__main__":
    main()
