#!/usr/bin/env python3
"""Writes torque.csv and measured.csv beside it: conversions by two independent references, PyPI `pint` and GNU
`units` (Debian package `units`). Versions used are in the tables' first line.

    python3 -m venv venv && venv/bin/pip install pint==0.25.3 && venv/bin/python make.py
"""
import pathlib
import subprocess
from importlib.metadata import version

import pint

HERE = pathlib.Path(__file__).parent
REGISTRY = pint.UnitRegistry()

# Preferred numbers, R10 of ISO 3.
R10 = [1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8]


def over(least, most):
    """Preferred numbers over a working range, both ends too."""
    decades = range(-3, 6)
    inside = (round(n * 10**d, 6) for d in decades for n in R10)
    return sorted({least, most, *(n for n in inside if least <= n <= most)})


# Our symbol, pint's expression, GNU units' expression, values over the working range, and some as sources have them.
TORQUE = [
    ("N·m", "newton * meter", "newton meter", [*over(0.2, 2000), 8.5, 47, 85, 140, 210, 350]),
    ("N·cm", "newton * centimeter", "newton cm", [*over(20, 20000), 850]),
    ("lbf·ft", "force_pound * foot", "lbf ft", [*over(0.2, 1500), 12, 103, 150, 590]),
    ("lbf·in", "force_pound * inch", "lbf inch", [*over(2, 3000), 60, 70, 89, 150, 300]),
    ("kgf·m", "kilogram_force * meter", "kgf m", [*over(0.02, 200), 3.5, 14]),
    ("kgf·cm", "kilogram_force * centimeter", "kgf cm", [*over(2, 20000), 35, 90, 1400]),
]
MEASURED = [
    [
        ("mm", "millimeter", "mm", [0.02, 0.1, 1.6, 3, 8, 21.4, 300, 2500]),
        ("cm", "centimeter", "cm", [0.3, 10, 48]),
        ("m", "meter", "m", [0.02, 1, 2.5]),
        ("in", "inch", "inch", [0.015625, 0.1, 0.375, 0.75, 1.375, 18]),
        ("thou", "thou", "mil", [1, 2, 8, 60, 200, 843]),
    ],
    [
        ("V", "volt", "V", [0.05, 11.8, 12.45, 14.4]),
        ("mV", "millivolt", "mV", [50, 200, 12450]),
    ],
    [
        ("psi", "force_pound / inch ** 2", "psi", [1, 15, 35, 80, 2000]),
        ("bar", "bar", "bar", [0.2, 1, 2.4, 5.5, 150]),
        ("kPa", "kilopascal", "kPa", [7, 100, 240, 550]),
    ],
    [
        ("kg", "kilogram", "kg", [1, 75, 1800, 3500]),
        ("t", "metric_ton", "tonne", [0.5, 1.8, 3.5]),
        ("lb", "pound", "lb", [1, 165, 4000]),
        ("g", "gram", "g", over(1, 5000)),
        ("oz", "ounce", "oz", over(0.1, 200)),
    ],
    [
        ("ml", "milliliter", "ml", over(1, 10000)[::3]),
        ("cm³", "centimeter ** 3", "cm3", over(1, 10000)[::3]),
        ("l", "liter", "liter", over(0.05, 100)[::3]),
        ("US fl oz", "US_fluid_ounce", "usfloz", over(0.25, 256)[::3]),
        ("US pt", "US_pint", "uspint", over(0.25, 40)[::3]),
        ("US qt", "US_liquid_quart", "usquart", over(0.25, 40)[::3]),
        ("US gal", "US_liquid_gallon", "usgallon", over(0.1, 25)[::3]),
        ("imp fl oz", "imperial_fluid_ounce", "brfloz", over(0.25, 320)[::3]),
        ("imp pt", "imperial_pint", "brpint", over(0.25, 40)[::3]),
        ("imp qt", "imperial_quart", "brquart", over(0.25, 40)[::3]),
        ("imp gal", "imperial_gallon", "brgallon", over(0.1, 25)[::3]),
    ],
]
TEMPERATURES = [-40, -5, 0, 20, 37.5, 100, 212, 400]


def gnu(value, source, target):
    run = ["units", "--terse", "--digits", "15", f"{value} {source}", target]
    return float(subprocess.run(run, check=True, capture_output=True, text=True).stdout)


def rows(group):
    for name, pint_source, gnu_source, values in group:
        for other, pint_target, gnu_target, _ in group:
            if other == name:
                continue
            for value in sorted(set(values)):
                by_pint = REGISTRY.Quantity(value, pint_source).to(pint_target).magnitude
                by_gnu = gnu(value, gnu_source, gnu_target)
                yield f"{value},{name},{other},{by_pint:.13g},{by_gnu:.13g}"


def temperatures():
    for value in TEMPERATURES:
        for name, other, pint_names, functions in (
            ("°C", "°F", ("degC", "degF"), ("tempC", "tempF")),
            ("°F", "°C", ("degF", "degC"), ("tempF", "tempC")),
        ):
            by_pint = REGISTRY.Quantity(value, pint_names[0]).to(pint_names[1]).magnitude
            run = ["units", "--terse", "--digits", "15", f"{functions[0]}({value})", functions[1]]
            by_gnu = float(subprocess.run(run, check=True, capture_output=True, text=True).stdout)
            yield f"{value},{name},{other},{by_pint:.13g},{by_gnu:.13g}"


def write(name, lines):
    gnu_version = subprocess.run(["units", "--version"], capture_output=True, text=True).stdout.splitlines()[0]
    head = f"# made by make.py with pint {version('pint')} and {gnu_version}"
    text = "\n".join([head, "value,from,to,pint,gnu_units", *lines])
    (HERE / name).write_text(text + "\n", encoding="utf-8")


write("torque.csv", rows(TORQUE))
write("measured.csv", [row for group in MEASURED for row in rows(group)] + list(temperatures()))
