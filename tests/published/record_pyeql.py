"""Record what pyEQL gives for the mixed extracts; pyEQL is too large (0.9 GB) to install here.

Run in an environment with ``pip install pyEQL==1.7.0``:

    python tests/published/record_pyeql.py > tests/published/pyeql.csv
"""

import csv
import sys
from pathlib import Path

VERSION = "1.7.0"
FORMULA = {
    "sodium": ("Na+", 1),
    "calcium": ("Ca+2", 2),
    "magnesium": ("Mg+2", 2),
    "potassium": ("K+", 1),
    "ammonium_n": ("NH4+", 1),
    "nitrate_n": ("NO3-", 1),
    "phosphorus": ("H2PO4-", 1),
    "sulfate_s": ("SO4-2", 2),
    "chloride": ("Cl-", 1),
    "bicarbonate": ("HCO3-", 1),
}


def main() -> None:
    from pyEQL import Solution  # noqa: PLC0415

    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(["id", "ec", "osmotic_potential", "version"])
    with (Path(__file__).parent / "extracts.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            solutes = {
                formula: f"{float(row[ion]) / charge} mmol/L"
                for ion, (formula, charge) in FORMULA.items()
                if float(row[ion]) > 0
            }
            solution = Solution(solutes, pH=float(row["ph"]), temperature="25 degC")
            ec = solution.conductivity.to("mS/cm").magnitude
            osmotic = -solution.osmotic_pressure.to("kPa").magnitude
            writer.writerow([row["id"], f"{ec:.4f}", f"{osmotic:.2f}", VERSION])


if __name__ == "__main__":
    main()
