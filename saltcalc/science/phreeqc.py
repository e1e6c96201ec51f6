"""The PHREEQC engine through phreeqpython, where that extra is installed; never required."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec, module_from_spec, spec_from_file_location
from pathlib import Path
from threading import Lock
from typing import Any, NamedTuple

import numpy as np

from saltcalc.data.reported_ions import reported_ions
from saltcalc.science._arrays import Floats
from saltcalc.science.speciation import speciate

NEUTRAL_PH = 7.0
"""The pH given to the engine where none is known."""

LOG_CO2_AIR = -3.4  # log10 of atm
MOLES_OF_WATER = 55.508  # in one kilogram
_DATABASE = "phreeqc.dat"
_LOCK = Lock()  # the engine keeps its solutions in one numbered store
_ELEMENT = {
    "sodium": "Na",
    "calcium": "Ca",
    "magnesium": "Mg",
    "potassium": "K",
    # Each valence of nitrogen by itself, so that nitrate and ammonium do not react.
    "ammonium_n": "N(-3)",
    "nitrate_n": "N(5)",
    "phosphorus": "P",
    "sulfate_s": "S(6)",
    "chloride": "Cl",
    "bicarbonate": "C(4)",
    "boron": "B",
}


_ADDED_PHASES = """
PHASES
Brushite
    CaHPO4:2H2O = Ca+2 + HPO4-2 + 2H2O
    -log_k -6.59
END
"""  # Gregory, Moreno & Brown (1970), from memory; phreeqc.dat has no phosphate but hydroxyapatite

_AFTER_DRYING = """
INCREMENTAL_REACTIONS false
DELETE
    -all
SELECTED_OUTPUT 1
    -reset false
END
"""


@dataclass(frozen=True)
class EngineResult:
    """What PHREEQC finds for one solution.

    ``ec`` [dS/m], ``ionic_strength`` [mol/kg], ``saturation`` the saturation index of every
    mineral of the database whose ions are all present.
    """

    ec: float
    ionic_strength: float
    saturation: dict[str, float]


class Drying(NamedTuple):
    """What PHREEQC finds step by step as a solution dries, shape (steps, phases).

    ``amounts`` [mol per kg of water at the start], ``saturation`` the saturation index.
    """

    amounts: Floats
    saturation: Floats


@cache
def available() -> bool:
    """Whether the engine is installed, and its library runs on this kind of machine.

    Examples
    --------
    >>> isinstance(available(), bool)
    True
    """
    try:
        _engine(_DATABASE)
    except (ImportError, OSError):
        return False
    return True


@cache
def _engine(database: str) -> Any:
    folder, library = _library()
    engine = library.VIPhreeqc()
    engine.load_database(folder / "database" / database)
    if database == _DATABASE:
        engine.run_string(_ADDED_PHASES)
    return engine


@cache
def _library() -> tuple[Path, Any]:
    """Load the engine's own module of phreeqpython, an optional extra, and tell where that is.

    The package around it loads a grammar of formulas and a table of isotopes, 6 MB that nothing
    here reads.
    """
    package = find_spec("phreeqpython")
    if package is None or not package.submodule_search_locations:
        raise ModuleNotFoundError("phreeqpython is not installed")
    folder = Path(package.submodule_search_locations[0])
    made = spec_from_file_location("viphreeqc", folder / "viphreeqc.py")
    assert made is not None
    assert made.loader is not None
    library = module_from_spec(made)
    made.loader.exec_module(library)
    return folder, library


@contextmanager
def engine(database: str = _DATABASE) -> Iterator[Any]:
    """Hold the engine alone, as phreeqpython's ``VIPhreeqc``.

    Parameters
    ----------
    database : str
        The database it works with.

    Raises
    ------
    ModuleNotFoundError
        If phreeqpython is not installed.

    Examples
    --------
    >>> if available():
    ...     with engine() as held:
    ...         assert held.id_ >= 0
    """
    with _LOCK:
        yield _engine(database)


def solution_input(
    ions: Mapping[str, float], ph: float = np.nan, carbonate: float = np.nan
) -> dict[str, Any]:
    """Return the solution as PHREEQC takes it.

    Parameters
    ----------
    ions : mapping of str to float
        Concentration by ion id [mmol_c/L], boron [mg/L]; NaN and zero are left out.
    ph : float
        pH; 7 is given where it is NaN.
    carbonate : float
        Dissolved inorganic carbon [mol/L], where the solution was speciated at this pH already.

    Returns
    -------
    dict
        Concentrations in mmol/L. Bicarbonate becomes dissolved inorganic carbon, with the carbon
        dioxide that goes with it at this pH: PHREEQC's own alkalinity would count phosphate,
        ammonia and borate too, and finds no solution where they outweigh the bicarbonate.

    Raises
    ------
    ValueError
        If an ion id is unknown or a concentration is negative.

    Examples
    --------
    >>> solution_input({"sodium": 5.0, "calcium": 4.0, "chloride": 9.0})
    {'units': 'mmol/L', 'temp': 25, 'pH': 7.0, 'Na': 5.0, 'Ca': 2.0, 'Cl': 9.0}
    """
    if unknown := set(ions) - set(_ELEMENT):
        raise ValueError(f"unknown ion {sorted(unknown)}")
    if any(value < 0 for value in ions.values()):
        raise ValueError("a concentration is negative")
    acidity = NEUTRAL_PH if np.isnan(ph) else float(ph)
    known = {ion: float(value) for ion, value in ions.items() if value > 0}
    given: dict[str, Any] = {"units": "mmol/L", "temp": 25, "pH": acidity}
    for ion, value in known.items():
        facts = reported_ions()[ion]
        given[_ELEMENT[ion]] = value / (abs(facts.charge) or facts.molar_mass)
    if "bicarbonate" in known:
        if np.isnan(carbonate) or np.isnan(ph):
            carbonate = float(speciate(known, acidity).dissolved_carbonate[0])
        given["C(4)"] = 1e3 * carbonate
    return given


def solve(ions: Mapping[str, float], ph: float = np.nan, carbonate: float = np.nan) -> EngineResult:
    """Let PHREEQC speciate one solution at 25 °C.

    Parameters
    ----------
    ions : mapping of str to float
        Concentration by ion id [mmol_c/L], boron [mg/L]; NaN for what was not reported.
    ph : float
        pH; 7 is taken where it is NaN.
    carbonate : float
        As for :func:`solution_input`.

    Returns
    -------
    EngineResult
        NaN and no saturation where PHREEQC finds no solution, as for a report that no water can
        have.

    Raises
    ------
    ModuleNotFoundError
        If phreeqpython is not installed.
    ValueError
        If an ion id is unknown or a concentration is negative.

    References
    ----------
    Parkhurst & Appelo (2013), USGS Techniques and Methods 6-A43; database phreeqc.dat.

    Examples
    --------
    Water saturated with gypsum, 15.2 mmol/L of it, has an index of zero.

    >>> if available():
    ...     found = solve({"calcium": 30.4, "sulfate_s": 30.4})
    ...     assert abs(found.saturation["Gypsum"]) < 0.05
    """
    given = _lines(ions, ph, carbonate)
    with engine() as held:
        try:
            held.run_string(f"SOLUTION 1\n{given}\nSAVE SOLUTION 1\nEND\n")
        except Exception:  # the engine raises a bare Exception where it does not converge
            return EngineResult(ec=np.nan, ionic_strength=np.nan, saturation={})
        result = EngineResult(
            ec=held.get_sc(1) / 1000,
            ionic_strength=held.get_mu(1),
            saturation={
                name: float(index) for name, index in held.get_phases_si(1).items() if index > -99
            },
        )
        held.run_string("DELETE\n    -solution 1")
    return result


def _lines(ions: Mapping[str, float], ph: float, carbonate: float = np.nan) -> str:
    """Return the solution as lines of the engine's input."""
    given = solution_input(ions, ph, carbonate)
    return "\n".join(f"    {key} {value}" for key, value in given.items())


def dry(
    ions: Mapping[str, float],
    ph: float,
    phases: Sequence[str],
    factors: Floats,
    database: str = _DATABASE,
) -> Drying | None:
    """Take water away from one solution in contact with air and let minerals form.

    Parameters
    ----------
    ions : mapping of str to float
        Concentration by ion id [mmol_c/L]; only ions of the database.
    ph : float
        pH at the start; 7 is taken where it is NaN.
    phases : sequence of str
        Minerals that may form, by their names in the database.
    factors : (steps,) ndarray
        How many times over the solution is concentrated, rising; 1 is the solution itself.
    database : str
        The database.

    Returns
    -------
    Drying or None
        Its arrays have the shape (steps, phases); None where PHREEQC finds no solution. Steps that
        it did not reach have no mineral and an index of NaN.

    Raises
    ------
    ModuleNotFoundError
        If phreeqpython is not installed.

    References
    ----------
    Parkhurst & Appelo (2013), USGS Techniques and Methods 6-A43; pitzer.dat for strong brines.

    Examples
    --------
    Common salt settles out between a hundred and three thousand times over.

    >>> if available():
    ...     factors = np.array([1.0, 100.0, 3000.0])
    ...     report = {"sodium": 5.0, "chloride": 5.0}
    ...     dried = dry(report, 7.0, ["Halite"], factors, "pitzer.dat")
    ...     assert (dried.amounts[:, 0] > 0).tolist() == [False, False, True]
    """
    kept = "\n".join(f"    {phase} 0 0" for phase in phases)
    taken = np.round(MOLES_OF_WATER * (1 - 1 / factors), 6)
    removed = " ".join(f"{moles:.6f}" for moles in np.diff(taken, prepend=0.0))
    # Each step starts from the one before, which is nearer than the solution at the start.
    script = f"""
INCREMENTAL_REACTIONS true
SOLUTION 1
{_lines(ions, ph)}
EQUILIBRIUM_PHASES 1
    CO2(g) {LOG_CO2_AIR} 10
{kept}
REACTION 1
    H2O -1
    {removed} moles
SELECTED_OUTPUT 1
    -reset false
    -step true
    -equilibrium_phases {" ".join(phases)}
    -saturation_indices {" ".join(phases)}
END
"""
    dried = Drying(*(np.full((len(factors), len(phases)), empty) for empty in (0.0, np.nan)))
    with engine(database) as held:
        try:
            held.run_string(script)
            heading, *rows = held.get_selected_output_array()
        except Exception:  # the engine raises a bare Exception where it does not converge
            return None
        finally:
            held.run_string(_AFTER_DRYING)
    columns = [[heading.index(f"{kind}{phase}") for phase in phases] for kind in ("", "si_")]
    for row in rows:
        step = int(row[heading.index("step")])
        if step >= 1:
            for table, places in zip(dried, columns, strict=True):
                table[step - 1] = [float(row[place]) for place in places]
    return dried
