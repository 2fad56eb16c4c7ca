#!/usr/bin/env python3
"""Writes the tables beside this file: properties of water by general-purpose libraries that are not ours.

    python3 -m venv ENV && ENV/bin/pip install -r requirements.txt && ENV/bin/python generate.py

The project's tests and its validation report compare the model with these tables; they never run this program. It is here so that anybody can make the
tables again. Each table says in its header which library gave which column, how, and when. Run it only to change the grid or the
libraries: the day in the headers is that of the run.

Libraries: gsw (TEOS-10, IOC, SCOR & IAPSO 2010), seawater (EOS-80 and PSS-78, UNESCO technical paper 44), iapws (IAPWS formulations: viscosity 2008,
seawater 2008), phreeqpython (PHREEQC with its Pitzer data base), pyEQL (Pitzer; at 25 degrees only: elsewhere it has the wrong trend).
"""

import datetime
import importlib.metadata
import math
import pathlib
import warnings

warnings.filterwarnings("ignore")

import gsw
import iapws
import numpy as np
import phreeqpython
import pyEQL
import seawater
from scipy.optimize import brentq

HERE = pathlib.Path(__file__).resolve().parent
R = 8.314462618
GRID_T = [0, 2, 5, 8, 10, 12, 15, 18, 20, 22, 25, 28, 30, 33, 35, 38, 40]
# Reference-Composition Salinity, Millero et al. 2008: mole fractions times 1e7. Fluoride is counted as chloride and hydroxide as hydrogen carbonate:
# the Pitzer data base has no fluoride, and both are traces.
SEA = {"Na": 4188071, "Mg": 471678, "Ca": 91823, "K": 91159, "Sr": 810, "Cl": 4874839 + 610, "S(6)": 252152,
       "C(4)": 15340 + 71 + 2134 + 86, "Br": 7520, "B": 900 + 2807}
# Mean mass of the dissolved particles, g/mol (Millero et al. 2008).
PARTICLE = 31.4038218


def version(name):
    return f"{name} {importlib.metadata.version(name)}"


def write(name, what, how, columns, rows):
    today = datetime.date.today().isoformat()
    lines = [f"# {what}", *(f"# {line}" for line in how), f"# Made on {today} by generate.py.", ",".join(columns)]
    lines += [",".join("" if value is None else f"{value:.9g}" for value in row) for row in rows]
    (HERE / f"{name}.csv").write_text("\n".join(lines) + "\n")
    print(f"{name}: {len(rows)} rows")


def density():
    rows = []
    for t in GRID_T:
        for s in [0, 0.3, 1, 2, 5, 10, 15, 20, 25, 30, 33, 35.16504, 38, 40, 42, 45, 50, 55, 60, 65, 70]:
            teos = gsw.rho(s, gsw.CT_from_t(s, t, 0), 0)
            # seawater takes ITS-90 and practical salinity.
            eos = seawater.eos80.dens0(s * 35 / 35.16504, t) if s <= 43 else None
            rows.append((t, s, teos, eos))
    write("density", "Density at one atmosphere, kg/m3.",
          [f"teos10: {version('gsw')}, rho of absolute salinity at 0 dbar; beyond 42 g/kg outside its range.",
           f"eos80: {version('seawater')}, dens0 of practical salinity = S 35/35.16504, up to 43 g/kg.",
           "Temperature in degrees Celsius (ITS-90), salinity in g/kg (reference salinity)."],
          ["temperature_c", "salinity_g_kg", "teos10_kg_m3", "eos80_kg_m3"], rows)


def viscosity():
    rows = []
    for t in GRID_T:
        t_k = max(t, 0.01) + 273.15
        water = iapws.IAPWS95(T=t_k, P=0.101325)
        rows.append((max(t, 0.01), water.mu))
    write("viscosity_pure_water", "Viscosity of pure water at one atmosphere, Pa s.",
          [f"iapws2008: {version('iapws')}, IAPWS-95 with the viscosity release of 2008."],
          ["temperature_c", "iapws2008_pa_s"], rows)


def conductivity():
    rows = []
    for t in [0, 2, 5, 10, 15, 20, 25, 30, 35]:
        for sp in [0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 1, 1.5, 1.9, 1.99, 2.0, 2.01, 2.1, 3, 5, 10, 15, 20, 25, 30, 33, 35, 38, 40, 42]:
            c = float(gsw.C_from_SP(sp, t, 0))
            old = float(seawater.salt(c / 42.9140, t, 0)) if sp >= 2.0 else None
            rows.append((t, c, 0.0, float(gsw.SP_from_C(c, t, 0)), old))
            if sp >= 10 and t in (5, 20, 35):
                rows.append((t, c, 55.0, float(gsw.SP_from_C(c, t, 550)), None))
    write("practical_salinity", "Practical salinity from conductivity.",
          [f"teos10: {version('gsw')}, SP_from_C; below 2 the extension of Hill, Dauphinee & Woods 1986 scaled to meet at 2.",
           f"pss78: {version('seawater')}, salt, from 2 up.",
           "Conductivities are those that C_from_SP gives for round salinities; pressure is gauge (1 bar is 10 dbar)."],
          ["temperature_c", "conductivity_ms_cm", "pressure_bar", "teos10", "pss78"], rows)


def exact_osmotic_bar(t, s):
    """The definition: water under p0 + pi in the solution is in balance with pure water under p0."""
    if s == 0:
        return 0.0
    pure = gsw.chem_potential_water_t_exact(0, t, 0)
    excess = lambda p_dbar: gsw.chem_potential_water_t_exact(s, t, p_dbar) - pure
    return brentq(excess, 0, 20_000, xtol=1e-9, rtol=1e-14) / 10


class Phreeqc:
    def __init__(self):
        self.engine = phreeqpython.PhreeqPython(database="pitzer.dat")

    def ln_water_activity(self, t, molalities, ph=None):
        lines = ["SOLUTION 1", "  units mol/kgw", f"  temp {t}", f"  pH {ph or 7}" + ("" if ph else " charge")]
        lines += [f"  {name} {value!r}" for name, value in molalities.items()]
        lines += ["SELECTED_OUTPUT", "  -reset false", "USER_PUNCH", "  -headings ln_aw", '  10 PUNCH LA("H2O") * LOG(10)', "END"]
        self.engine.ip.run_string("\n".join(lines) + "\n")
        return self.engine.ip.get_selected_output_array()[-1][-1]


def osmotic_sea():
    phreeqc, rows = Phreeqc(), []
    for t in GRID_T:
        water_kg_m3 = float(gsw.rho(0, gsw.CT_from_t(0, t, 0), 0))
        for s in [0.1, 0.3, 1, 2, 5, 8, 9.9, 10, 10.1, 15, 20, 25, 30, 33, 35.16504, 38, 40, 42, 45, 50, 55, 60, 65, 70]:
            m = 1000 * s / ((1000 - s) * PARTICLE)
            ln_aw = phreeqc.ln_water_activity(t, {name: m * x / 1e7 for name, x in SEA.items()}, ph=8.1)
            pitzer = -ln_aw / 0.01801528 * R * (t + 273.15) * water_kg_m3 / 1e5
            salt = iapws.SeaWater(T=max(t, 0.01) + 273.15, P=0.101325, S=s / 1000).osm
            rows.append((t, s, exact_osmotic_bar(t, s), pitzer, float(salt)))
    write("osmotic_pressure_sea_salt", "Osmotic pressure of sea salt, bar, and its osmotic coefficient.",
          [f"teos10: {version('gsw')}, root of the definition, chemical potential of water by chem_potential_water_t_exact.",
           f"phreeqc: {version('phreeqpython')}, pitzer.dat, reference composition of Millero et al. 2008; -ln(a_w) R T rho_w over the molar mass of water.",
           f"iapws: {version('iapws')}, SeaWater.osm at one atmosphere.",
           "Beyond 42 g/kg and below 0.1 g/kg the libraries extrapolate too."],
          ["temperature_c", "salinity_g_kg", "teos10_bar", "phreeqc_bar", "iapws_coefficient"], rows)


def osmotic_sodium_chloride():
    phreeqc, rows = Phreeqc(), []
    for t in [5, 10, 15, 20, 25, 30, 35, 40]:
        for m in [0.05, 0.1, 0.2, 0.3, 0.5, 0.56, 0.6, 0.7, 0.8, 1.0, 1.5, 2.0]:
            ln_aw = phreeqc.ln_water_activity(t, {"Na": m, "Cl": m})
            other = None
            if t == 25:
                solution = pyEQL.Solution({"Na+": f"{m} mol/kg", "Cl-": f"{m} mol/kg"}, temperature="25 degC", engine="native")
                other = float(solution.get_osmotic_coefficient().magnitude)
            rows.append((t, m, -ln_aw / (0.01801528 * 2 * m), other))
    write("osmotic_coefficient_sodium_chloride", "Osmotic coefficient of sodium chloride.",
          [f"phreeqc: {version('phreeqpython')}, pitzer.dat, -ln(a_w) over the molar mass of water and twice the molality.",
           f"pyeql: {version('pyEQL')}, Pitzer, at 25 degrees only: away from it its trend is wrong."],
          ["temperature_c", "molality_mol_kg", "phreeqc", "pyeql"], rows)


def product_water():
    rows = []
    for us_cm in [50, 84, 100, 200, 300, 447, 500, 750, 1000, 1413, 1500, 2000, 2070, 3000, 5000]:
        sp = float(gsw.SP_from_C(us_cm / 1000, 25, 0))
        s = sp * 35.16504 / 35
        rows.append((us_cm, s * float(gsw.rho(s, gsw.CT_from_t(s, 25, 0), 0))))
    write("product_water", "Dissolved solids of diluted seawater by conductivity at 25 degrees, mg/L.",
          [f"teos10: {version('gsw')}, SP_from_C, 35.16504/35 g/kg, rho."],
          ["conductivity_us_cm", "teos10_mg_l"], rows)


density()
viscosity()
conductivity()
osmotic_sea()
osmotic_sodium_chloride()
product_water()
