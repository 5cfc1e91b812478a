"""Losses against printed tables; each names its source. Tolerance: half of the last digit, or as stated."""

import pytest

from rillwright.physics import losses
from rillwright.physics.units import FOOT, GPM, GRAVITY, INCH, PSI

# PVC schedule 40, C = 150, ft per 100 ft: Illinois Administrative Code, title 77, part 906, appendix A, exhibit I.
# Columns: bore [in] (outside diameter less two least walls), gpm, ft printed.
SCHEDULE_40 = [
    (1.049, 1, 0.07),
    (1.049, 5, 1.52),
    (1.049, 8, 3.63),
    (1.049, 10, 5.50),
    (1.380, 10, 1.46),
    (1.380, 15, 3.06),
    (1.380, 20, 5.23),
    (1.610, 10, 0.70),
    (1.610, 20, 2.46),
    (1.610, 25, 3.75),
    (1.610, 30, 5.22),
    (2.067, 10, 0.21),
    (2.067, 30, 1.54),
    (2.067, 50, 3.98),
]


@pytest.mark.parametrize(("bore", "gpm", "printed"), SCHEDULE_40)
def test_hazen_williams_as_the_schedule_40_table(bore, gpm, printed):
    """Within 1 % or 0.02 ft: the table rounds and its own bores differ a little from the standard's."""
    head = losses.hazen_williams_head_loss(gpm * GPM, inside_diameter=bore * INCH, length=100 * FOOT)
    assert head / FOOT == pytest.approx(printed, rel=0.01, abs=0.02)


@pytest.mark.parametrize(("bore", "gpm", "printed"), [row for row in SCHEDULE_40 if row[1] > 1])
def test_darcy_weisbach_near_the_schedule_40_table(bore, gpm, printed):
    """Two formulas for one pipe: Darcy-Weisbach at 20 °C gives 0 to 15 % more than C = 150 above 3 ft/s or so.

    At 1 gpm in 1 in pipe the flow is in the transition, where Hazen-Williams holds no longer: left out.
    """
    lost = losses.darcy_pressure_loss(
        gpm * GPM, inside_diameter=bore * INCH, length=100 * FOOT, roughness=1.5e-6, viscosity=1.004e-6, density=998.2
    )
    assert printed * 0.99 < lost / (998.2 * GRAVITY) / FOOT < printed * 1.15 + 0.02


def test_hazen_williams_constant_of_the_fire_code():
    """NFPA 13: psi/ft = 4.52 Q^1.85 / (C^1.85 d^4.87), gpm and in; the SI form agrees within 0.3 %.

    With the exponent 1.852 of the texts in place of the rounded 1.85, which alone makes 0.5 %.
    """
    for bore, gpm in ((1.049, 10), (1.610, 20), (2.067, 50)):
        printed = 4.52 * gpm**1.852 / (150**1.852 * bore**4.87)
        ours = losses.hazen_williams_pressure_loss(gpm * GPM, inside_diameter=bore * INCH, length=FOOT, density=998.2)
        assert ours / PSI == pytest.approx(printed, rel=3e-3)


def test_darcy_weisbach_worked_row():
    """10 gpm, 1.049 in, 20 °C, 1.5 µm: f 0.02363, 2.505 psi/100 ft (arithmetic), 5 % over C = 150's 2.376."""
    speed = 1.131
    assert losses.friction_factor(30030, 1.5e-6 / (1.049 * INCH)) == pytest.approx(0.02363, abs=5e-6)
    water = {"density": 998.2, "viscosity": 1.004e-6}
    ours = losses.darcy_pressure_loss(
        10 * GPM, inside_diameter=1.049 * INCH, length=100 * FOOT, roughness=1.5e-6, **water
    )
    assert ours / PSI == pytest.approx(2.505, abs=5e-4 + 2e-3)
    assert pytest.approx(speed, abs=5e-4) == 4 * 10 * GPM / (3.14159265 * (1.049 * INCH) ** 2)


@pytest.mark.parametrize(
    ("reynolds", "rough", "printed"),
    [
        (1000, 0, 0.064),
        (2000, 0, 0.032),
        (4e3, 0, 0.0399),
        (1e4, 0, 0.0309),
        (1e5, 0, 0.0180),
        (1e6, 0, 0.0117),
        (1e5, 0.001, 0.0222),
        (1e6, 0.001, 0.0199),
        (1e5, 0.01, 0.0385),
        (1e7, 0.0001, 0.0122),
    ],
)
def test_friction_factor_of_the_textbooks(reynolds, rough, printed):
    """64/Re and Colebrook-White as in any fluid mechanics text, four decimals."""
    assert losses.friction_factor(float(reynolds), float(rough)) == pytest.approx(printed, abs=1e-4)


# Christiansen (1942); National Engineering Handbook 623, chapter 11 (formula from memory).
# Columns: outlets, F at m 1.75, 1.852 and 2, F' at m 1.75 and 1.852, exact sum at m 1.852.
CHRISTIANSEN = [
    (2, 0.650, 0.639, 0.625, 0.533, 0.519, 0.6385),
    (3, 0.546, 0.534, 0.519, 0.456, 0.441, 0.5342),
    (4, 0.498, 0.485, 0.469, 0.426, 0.412, 0.4852),
    (5, 0.469, 0.457, 0.440, 0.410, 0.396, 0.4568),
    (6, 0.451, 0.438, 0.421, 0.401, 0.387, 0.4382),
    (8, 0.428, 0.416, 0.398, 0.390, 0.377, 0.4155),
    (10, 0.415, 0.402, 0.385, 0.384, 0.371, 0.4022),
    (15, 0.398, 0.385, 0.367, 0.377, 0.363, 0.3846),
    (20, 0.389, 0.376, 0.359, 0.373, 0.360, 0.3760),
    (30, 0.380, 0.367, 0.350, 0.370, 0.357, 0.3675),
    (100, 0.369, 0.356, 0.338, 0.365, 0.352, 0.3556),
]


@pytest.mark.parametrize("row", CHRISTIANSEN)
def test_multiple_outlet_factors(row):
    outlets, full175, full185, full2, half175, half185, exact = row
    for exponent, printed in ((1.75, full175), (1.852, full185), (2.0, full2)):
        assert losses.multiple_outlet_factor(outlets, exponent=exponent) == pytest.approx(printed, abs=6e-4)
    for exponent, printed in ((1.75, half175), (1.852, half185)):
        assert losses.half_spacing_outlet_factor(outlets, exponent=exponent) == pytest.approx(printed, abs=6e-4)
    assert losses.exact_multiple_outlet_factor(outlets) == pytest.approx(exact, abs=6e-5)
    if outlets >= 3:
        assert losses.multiple_outlet_factor(outlets) == pytest.approx(exact, abs=1e-3)


@pytest.mark.parametrize(("outlets", "printed"), [(2, 0.639), (3, 0.535), (4, 0.485), (10, 0.402), (20, 0.376)])
def test_multiple_outlet_factor_of_old_tables(outlets, printed):
    """Exponent 1.85, as older tables have it."""
    assert losses.multiple_outlet_factor(outlets, exponent=1.85) == pytest.approx(printed, abs=6e-4)


def test_one_outlet_carries_all():
    for factor in (
        losses.multiple_outlet_factor,
        losses.half_spacing_outlet_factor,
        losses.exact_multiple_outlet_factor,
    ):
        assert factor(1) == 1.0


@pytest.mark.parametrize(
    ("inches", "printed"),
    [(0.622, 0.026), (0.824, 0.024), (1.049, 0.022), (1.380, 0.021), (1.610, 0.020), (2.067, 0.019)],
)
def test_turbulent_friction_factor_of_crane(inches, printed):
    """Crane TP-410, 2009 and later (from memory). The book prints three decimals; at 1 in ours is 0.0225."""
    assert losses.turbulent_friction_factor(inches * INCH) == pytest.approx(printed, abs=6e-4)


@pytest.mark.parametrize(
    ("kind", "printed"),
    [
        ("elbow 90", 0.66),
        ("elbow 45", 0.35),
        ("tee run", 0.44),
        ("tee branch", 1.32),
        ("gate valve", 0.18),
        ("ball valve", 0.07),
        ("globe valve", 7.48),
    ],
)
def test_fitting_coefficients_of_crane(kind, printed):
    """Crane TP-410, appendix A, 1 in, with the book's fT of 0.022 (from memory): K = n · fT to two decimals."""
    assert losses.FITTING_LENGTHS[kind] * 0.022 == pytest.approx(printed, abs=5.1e-3)
    ours = losses.fitting_coefficient(kind, inside_diameter=1.049 * INCH)
    assert ours == pytest.approx(losses.FITTING_LENGTHS[kind] * 0.0225, rel=2e-3)


def test_velocity_head_and_static_head():
    """5 ft/s at K 1: 0.3885 ft, 0.168 psi; water of 62.37 lb/ft³: 0.4331 psi/ft, 2.309 ft/psi (arithmetic)."""
    density = 62.37 * 0.45359237 / FOOT**3
    bore = 0.03
    flow = 5 * FOOT * 3.14159265358979 / 4 * bore**2
    lost = losses.fitting_pressure_loss(flow, inside_diameter=bore, coefficient=1.0, density=density)
    assert lost / (density * GRAVITY) / FOOT == pytest.approx(0.3885, abs=5e-5)
    assert lost / PSI == pytest.approx(0.168, abs=5e-4)
    assert density * GRAVITY * FOOT / PSI == pytest.approx(0.4331, abs=5e-5)
    assert PSI / (density * GRAVITY * FOOT) == pytest.approx(2.309, abs=5e-4)
