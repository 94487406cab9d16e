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

# Our symbol, pint's expression, GNU units' expression, values of the working range.
TORQUE = [
    ("N·m", "newton * meter", "newton meter", [0.5, 1, 2.5, 5, 8.5, 10, 25, 47, 85, 140, 210, 350, 800]),
    ("N·cm", "newton * centimeter", "newton cm", [50, 120, 250, 850, 2500, 9000]),
    ("lbf·ft", "force_pound * foot", "lbf ft", [0.5, 1, 5, 12, 25, 40, 63, 103, 150, 250, 590]),
    ("lbf·in", "force_pound * inch", "lbf inch", [5, 10, 40, 60, 70, 89, 150, 300, 1200]),
    ("kgf·m", "kilogram_force * meter", "kgf m", [0.1, 0.5, 1, 3.5, 8, 14, 30, 80]),
    ("kgf·cm", "kilogram_force * centimeter", "kgf cm", [5, 10, 35, 90, 250, 1400]),
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
            for value in values:
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
