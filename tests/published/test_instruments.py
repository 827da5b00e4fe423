"""Refractive index, density, Baumé and temperature of sucrose solutions against published tables.

A row that is known to be missed carries the signed size of its miss; the test fails when that changes.
"""

from __future__ import annotations

import pytest
from iapws import IAPWS95

from formulate.ingredients.instruments import (
    acid_shortfall,
    baume_of_brix,
    brix_at_20_c,
    brix_of_baume,
    brix_of_density,
    brix_of_refractive_index,
    brix_of_specific_gravity,
    density_at_20_c,
    density_of_brix,
    hydrometer_at_20_c,
    refractive_index_of_brix,
    refractometer_correction,
    specific_gravity_of_brix,
)

#: CRC Handbook of Chemistry and Physics, 102nd ed., Concentrative Properties of Aqueous Solutions,
#: sucrose at 20 °C: mass %, density [g/cm3], refractive index.
CRC = [
    (1, 1.0021, 1.3344),
    (2, 1.0060, 1.3359),
    (5, 1.0178, 1.3403),
    (8, 1.0299, 1.3448),
    (10, 1.0381, 1.3478),
    (12, 1.0465, 1.3509),
    (14, 1.0549, 1.3541),
    (15, 1.0592, 1.3557),
    (16, 1.0635, 1.3573),
    (18, 1.0722, 1.3606),
    (20, 1.0810, 1.3639),
    (22, 1.0899, 1.3672),
    (24, 1.0990, 1.3706),
    (26, 1.1082, 1.3741),
    (28, 1.1175, 1.3776),
    (30, 1.1270, 1.3812),
    (32, 1.1366, 1.3848),
    (36, 1.1562, 1.3922),
    (40, 1.1765, 1.3999),
    (42, 1.1868, 1.4038),
    (50, 1.2295, 1.4201),
    (60, 1.2864, 1.4419),
    (70, 1.3472, 1.4654),
    (80, 1.4117, 1.4906),
]
_UNIT = 1.0e-4  # one unit of the last digit that the CRC table prints
#: Rows missed by more: the table of ICUMSA lies above that of the CRC in strong syrup.
_DENSITY_MISSES = {50: 1.5e-4, 60: 2.1e-4, 70: 2.8e-4, 80: 5.0e-4}
_INDEX_MISSES = {70: 1.2e-4, 80: 1.7e-4}


@pytest.mark.parametrize(("brix", "density", "index"), CRC)
def test_density_of_the_crc_table(brix, density, index):
    miss = _DENSITY_MISSES.get(brix)
    expected, tolerance = (density, _UNIT) if miss is None else (density + miss, 0.1 * _UNIT)
    assert density_of_brix(brix) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(("brix", "density", "index"), CRC)
def test_refractive_index_of_the_crc_table(brix, density, index):
    miss = _INDEX_MISSES.get(brix)
    expected, tolerance = (index, _UNIT) if miss is None else (index + miss, 0.1 * _UNIT)
    assert refractive_index_of_brix(brix) == pytest.approx(expected, abs=tolerance)
    assert brix_of_refractive_index(index) == pytest.approx(
        brix, abs=0.07
    )  # as the docstring states


@pytest.mark.parametrize(
    ("brix", "index"),
    [  # ICUMSA SPS-3, refractive index at 20 °C and 589 nm; from memory
        *[(0, 1.33299), (5, 1.34026), (10, 1.34782), (15, 1.35568), (20, 1.36384), (25, 1.37233)],
        *[(30, 1.38115), (35, 1.39032), (40, 1.39986), (45, 1.40978), (50, 1.42009), (55, 1.43080)],
        *[(60, 1.44193), (65, 1.45348), (70, 1.46546), (75, 1.47787), (80, 1.49071), (85, 1.50398)],
    ],
)
def test_refractive_index_of_icumsa(brix, index):
    """The fit as printed lies 0.013 to 0.026 °Bx below the table throughout: less than 0.0001."""
    assert refractive_index_of_brix(brix) == pytest.approx(index, abs=_UNIT)


@pytest.mark.parametrize(
    ("brix", "baume"),
    [  # nguyenstarch.com, after Junk and Pancoast, Handbook of Sugars, 1973; its last row, 85.28 °Bx for
        # 45 °Bé, lies beyond the highest reading of any scale
        *[(8.97, 5), (18.00, 10), (27.12, 15), (36.32, 20)],
        *[(45.70, 25), (55.20, 30), (64.93, 35), (74.96, 40)],
    ],
)
def test_baume_of_the_sugar_handbook(brix, baume):
    """Tolerance: half of 0.1 °Bé, the finest division of a hydrometer; in °Bx twice that."""
    assert baume_of_brix(brix) == pytest.approx(baume, abs=0.05)
    assert brix_of_baume(baume) == pytest.approx(brix, abs=0.1)


@pytest.mark.parametrize(
    ("brix", "baume", "miss"),
    [  # chestofbooks.com, Save It For Winter, canning table, printed to 0.1 °Bé
        (5, 2.8, None),
        (10, 5.5, 0.075),
        (15, 8.3, None),
        (20, 11.1, None),
        (25, 13.8, None),
        (30, 16.5, 0.075),
        (35, 19.2, 0.085),
        (40, 21.9, 0.077),
        (45, 24.6, None),
        (50, 27.2, 0.093),
        (55, 29.8, 0.113),
        (60, 32.4, 0.103),
        (65, 34.9, 0.162),
    ],
)
def test_baume_of_an_old_canning_table(brix, baume, miss):
    """Missed by up to 0.16, half a percent: it may follow modulus 144.3, which comes closer."""
    expected, tolerance = (baume, 0.05) if miss is None else (baume + miss, 0.001)
    assert baume_of_brix(brix) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize(
    ("brix", "gravity"),
    [(10, 1.0400), (20, 1.0829)],  # 1 + B / (258.6 - 0.87955 B), a brewers' formula good to 20 °Bx
)
def test_specific_gravity_of_a_brewers_formula(brix, gravity):
    assert 1.0 + brix / (258.6 - 0.87955 * brix) == pytest.approx(gravity, abs=0.0001)
    assert specific_gravity_of_brix(brix) == pytest.approx(gravity, abs=0.0001)


@pytest.mark.parametrize(
    "gravity", [1.01, 1.02, 1.03, 1.04, 1.05, 1.06, 1.08, 1.1, 1.12, 1.15, 1.17]
)
def test_brix_of_specific_gravity_by_the_nbs_table(gravity):
    """Fit to the NBS table, to 40 °Bx within 0.001 of it, as printed at liquisearch.com/brix/tables.

    Its gravities are weighed in air, ours are true: 0.04 °Bx.
    """
    nbs = ((182.4601 * gravity - 775.6821) * gravity + 1262.7794) * gravity - 669.5622
    assert brix_of_specific_gravity(gravity) == pytest.approx(nbs, abs=0.05)


@pytest.mark.parametrize(
    ("brix", "grams"),
    [(10, 103.8), (20, 216.2), (30, 338.1), (40, 470.6), (50, 614.8), (60, 771.9), (70, 943.1)],
)
def test_grams_per_litre(brix, grams):
    """CRC Handbook, g sucrose per L at 20 °C, as coded in a physics library; printed to 0.1.

    Tolerance: one printed unit of density there, 0.0001 g/mL, and its known misses.
    """
    miss = _DENSITY_MISSES.get(brix, 0.0)
    tolerance = 0.05 + 10.0 * brix * _UNIT
    assert 10.0 * brix * (density_of_brix(brix) - miss) == pytest.approx(grams, abs=tolerance)


@pytest.mark.parametrize(
    ("temperature", "corrections"),
    [  # OIV, evaluation of sugar by refractometry, Table I (yumpu.com 12038601, page 49)
        (5, {10: -0.82, 20: -0.92, 30: -0.99}),
        (10, {10: -0.59, 20: -0.65, 30: -0.69, 40: -0.72, 50: -0.74, 60: -0.75, 70: -0.75}),
        (12, {10: -0.49, 20: -0.53, 30: -0.56, 40: -0.58, 50: -0.60, 60: -0.61, 70: -0.60}),
        (15, {10: -0.32, 20: -0.34, 30: -0.36, 40: -0.37, 50: -0.38, 60: -0.38, 70: -0.38}),
        (16, {10: -0.26, 20: -0.28, 30: -0.29, 40: -0.30, 50: -0.31, 60: -0.31, 70: -0.31}),
        (17, {10: -0.20, 20: -0.21, 30: -0.22, 40: -0.23, 50: -0.23, 60: -0.23, 70: -0.23}),
        # International Table of 1936, as coded in a physics library
        (25, {10: 0.32, 20: 0.34, 30: 0.36, 40: 0.36, 50: 0.38, 60: 0.36, 70: 0.36}),
        (30, {10: 0.67, 20: 0.71, 30: 0.74, 40: 0.75, 50: 0.80, 60: 0.76, 70: 0.73}),
    ],
)
def test_temperature_correction_of_a_refractometer(temperature, corrections):
    """Rows that the table holds are exact; on straight lines between them one printed unit is allowed."""
    tolerance = 0.0101 if temperature in (12, 16, 17) else 1e-9
    for brix, published in corrections.items():
        found = refractometer_correction(brix, temperature)
        assert found == pytest.approx(published, abs=tolerance)


@pytest.mark.parametrize(
    ("temperature", "corrections"),
    [  # Russian standard, temperature corrections, Table A.1 (docs.cntd.ru/document/1200157922)
        (10, {10: -0.58, 20: -0.64, 30: -0.68, 40: -0.72, 50: -0.74, 60: -0.76, 70: -0.79}),
        (15, {10: -0.31, 20: -0.34, 30: -0.35, 40: -0.37, 50: -0.38, 60: -0.39, 70: -0.40}),
        (18, {10: -0.13, 20: -0.14, 30: -0.14, 40: -0.15, 50: -0.15, 60: -0.15, 70: -0.16}),
        (21, {10: 0.07, 20: 0.07, 30: 0.08, 40: 0.08, 50: 0.08, 60: 0.08, 70: 0.08}),
    ],
)
def test_temperature_correction_by_another_table(temperature, corrections):
    """Tolerance: OIV and the International Table of 1936 differ by 0.05 at 15 °C."""
    for brix, published in corrections.items():
        assert refractometer_correction(brix, temperature) == pytest.approx(published, abs=0.05)


@pytest.mark.parametrize(
    ("brix", "at_15", "at_20"),
    [  # Nicolaus Copernicus University, Toruń, second physics laboratory, tables, kg/m3
        (5, 1018.84, 1017.84),
        (10, 1039.25, 1038.13),
        (15, 1060.41, 1059.16),
        (20, 1082.33, 1080.94),
        (25, 1105.07, 1103.54),
        (30, 1128.63, 1126.98),
        (35, 1153.06, 1151.27),
    ],
)
def test_density_at_15_c(brix, at_15, at_20):
    """Tolerance: 0.1 kg/m3, which is 0.02 °Bx and the last printed digit of the CRC table."""
    assert 1000.0 * density_of_brix(brix) == pytest.approx(at_20, abs=0.1)
    assert 1000.0 * density_at_20_c(at_15 / 1000.0, 15.0) == pytest.approx(at_20, abs=0.1)
    assert brix_of_density(density_at_20_c(at_15 / 1000.0, 15.0)) == pytest.approx(brix, abs=0.05)


@pytest.mark.parametrize("temperature", [10.0, 15.0, 20.0, 25.0, 30.0])
def test_water_widens_as_in_the_iapws_formulation(temperature):
    """IAPWS-95 at 101.325 kPa, by another library; both state about 0.001 kg/m3."""
    at = IAPWS95(T=temperature + 273.15, P=0.101325).rho
    at_20 = IAPWS95(T=293.15, P=0.101325).rho
    shift = density_of_brix(0.0) - at_20 / 1000.0  # the sucrose formula's own water
    expected = at_20 / 1000.0 + shift
    assert density_at_20_c(at / 1000.0 + shift, temperature) == pytest.approx(expected, abs=3e-6)


def hydrometer_correction(brix, difference):
    """vinolab.hr, hydrometer temperature correction in °Bx, a fit to winemakers' tables."""
    b, t = brix, difference
    return (
        6.907947565e-7 * t**4
        + 8.650898228e-7 * t**3 * b
        + 2.111610273e-7 * t**2 * b**2
        - 4.20289855e-7 * t * b**3
        - 2.646880494e-5 * t**3
        - 3.812273795e-5 * t**2 * b
        + 2.132555958e-5 * t * b**2
        + 3.140096619e-7 * b**3
        + 1.470413886e-3 * t**2
        + 3.854292164e-4 * t * b
        - 1.254869767e-5 * b**2
        + 4.799327348e-2 * t
        + 2.013056055e-4 * b
        - 2.157758291e-3
    )


@pytest.mark.parametrize("temperature", [10.0, 15.0, 25.0, 30.0])
@pytest.mark.parametrize("brix", [5.0, 10.0, 15.0, 20.0, 25.0, 30.0])
def test_temperature_correction_of_a_hydrometer(brix, temperature):
    """Tolerance: 0.1 °Bx, the accuracy that the correction states."""
    found = brix_at_20_c(brix, "brix_hydrometer", temperature) - brix
    assert found == pytest.approx(hydrometer_correction(brix, temperature - 20.0), abs=0.1)


def test_a_hydrometer_of_glass_reads_a_little_otherwise_than_the_density():
    # cubic expansion of soda glass 2.5e-5 per °C (from memory): 5 °C are 0.0125 % of the density
    glass = hydrometer_at_20_c(1.1, 25.0) - density_at_20_c(1.1, 25.0)
    assert glass == pytest.approx(-1.1 * 1.25e-4, rel=0.02)


@pytest.mark.parametrize(
    ("acid", "correction"),
    [  # acidity correction tables for refractometric Brix (scribd.com/document/378753169)
        (0.0, 0.00),
        (0.2, 0.04),
        (0.6, 0.12),
        (1.0, 0.20),
        (2.0, 0.39),
        (3.0, 0.58),
        (4.0, 0.78),
        (5.0, 0.97),
        (6.0, 1.15),
        (8.0, 1.54),
        (10.0, 1.91),
        (12.0, 2.27),
        (15.0, 2.81),
        (18.0, 3.35),
        (20.0, 3.70),
    ],
)
def test_acid_of_a_juice_hides_from_a_refractometer(acid, correction):
    """Tolerance: 0.02 °Bx, which the docstring states; the formula is from memory."""
    assert acid_shortfall(acid) == pytest.approx(correction, abs=0.02)
