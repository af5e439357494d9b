"""Constants of fermentation, cooling and scalds: value, unit, range, source.

*Ours* marks a judgement or a figure we computed; a bakery's own readings replace it.
"""

from __future__ import annotations

from planner.constants import Constant

# Dough as it stands.

DOUGH_KJ_PER_KG_K = Constant(
    2.8, "kJ/kg K", 2.6, 3.0, "composition method (Choi and Okos 1986) for 50 to 85 % water"
)
RISEN_DOUGH_W_PER_M_K = Constant(
    0.32,
    "W/m K",
    0.20,
    0.40,
    "Maxwell's relation for foam: 0.45 gas-free, 0.39 at 10 % gas, 0.20 at 50 %",
)
RISEN_DOUGH_KG_PER_M3 = Constant(
    700.0, "kg/m³", 580.0, 830.0, "ours: dough in usual tubs and bowls, half risen"
)
BIOT_CORRECTION = Constant(
    0.7, "1", 0.6, 0.8, "ours: product solutions of boxes of 0.25 to 120 kg, mean within 10 %"
)
FERMENTATION_W_H_PER_KG = Constant(
    0.8,
    "W h/kg",
    0.5,
    1.2,
    "1.15 kJ per g CO2 (standard enthalpies) times about 2.5 g/kg until ripe; ours",
)
FERMENTATION_MOST_W_PER_KG = Constant(
    0.9, "W/kg", 0.6, 1.1, "1.5 L CO2 per kg and hour, a fast warm dough; ours"
)

# Speed of fermentation.

YEAST_MIN_C = Constant(-1.0, "°C", -4.0, 1.0, "ours: extended square root; cold bounds -4 and +1")
YEAST_MAX_C = Constant(
    48.0, "°C", 45.4, 50.0, "Salvadó 2011: growth ends at 45.4; gas goes on a little, ours"
)
YEAST_C_PER_K = Constant(
    0.25, "1/K", 0.2, 0.3, "ours: puts the optimum at 38.5 °C; baking strains gas most at 36 to 39"
)
SEED_EXPONENT = Constant(
    0.45, "1", 0.3, 0.6, "ours: 0.33 from a table of rye sours, 0.58 from wheat doughs"
)
YEAST_DOSE_EXPONENT = Constant(
    0.85, "1", 0.7, 1.0, "ours: a French course sheet of poolish doses gives 1.0"
)
MOST_DOSE_FACTOR = Constant(3.0, "1", 2.0, 4.0, "ours: beyond it, ask for new reference hours")

# Paste and its vessel.

PASTE_W_PER_M_K = Constant(
    0.50, "W/m K", 0.434, 0.548, "gelatinised starch gels, heated probe, J. Food Sci. 1991"
)
PASTE_KG_PER_M3 = Constant(1080.0, "kg/m³", 1040.0, 1150.0, "one part flour, two of water; ours")
COVERED_TOP_W_PER_M2_K = Constant(
    9.0, "W/m² K", 8.0, 11.0, "dry column of a table of heat loss from open tanks, still air"
)
OPEN_TOP_DRY_W_PER_M2_K = Constant(
    11.0, "W/m² K", 9.5, 12.3, "dry column of the same table, 32 to 82 °C"
)
EVAPORATION_W_PER_M2_KPA = Constant(
    77.0, "W/m² kPa", 60.0, 107.0, "psychrometric: 15.4 times a convection of 5; the table has 107"
)
SKIN_FACTOR = Constant(
    0.6, "1", 0.3, 1.0, "ours, a guess: share of free evaporation that a skinned paste keeps"
)
BENCH_BOTTOM_W_PER_M2_K = Constant(6.0, "W/m² K", 3.6, 8.4, "ours: bottom standing on a bench")
SHELF_W_PER_M2_K = Constant(
    8.0, "W/m² K", 5.0, 12.0, "ours: reduced from rice cooling on a refrigerator shelf"
)
BLAST_W_PER_M2_K = Constant(27.0, "W/m² K", 19.0, 36.0, "ours: blast chiller")
ICE_BATH_W_PER_M2_K = Constant(
    200.0, "W/m² K", 100.0, 300.0, "ours: wall in stirred ice water; the paste side limits"
)
INSULATED_W_PER_M2_K = Constant(
    1.5, "W/m² K", 0.6, 2.3, "ours: mashes held in plastic coolers, tau 20 to 84 h; 2.2 for 1 inch"
)

# Pour.

SCALD_WATER_KJ_PER_KG_K = Constant(4.186, "kJ/kg K", 4.178, 4.216, "water, 0 to 100 °C")
SCALD_FLOUR_KJ_PER_KG_K = Constant(
    1.9, "kJ/kg K", 1.7, 2.1, "dry malt 0.40 of water (mashing practice) plus 14 % moisture"
)
GELATINISATION_KJ_PER_KG_FLOUR = Constant(
    6.7, "kJ/kg", 5.5, 8.1, "10 ± 1.5 J per g starch (calorimetry of cereal starch), 2/3 starch"
)
GELATINISATION_FROM_C = Constant(57.0, "°C", 55.7, 58.5, "spelt wheat starches, ISRN 2014: onset")
GELATINISATION_TO_C = Constant(68.0, "°C", 67.4, 68.2, "spelt wheat starches, ISRN 2014: end")
POUR_LOSS_FRACTION = Constant(
    0.15, "1", 0.06, 0.23, "ours: published pours against the adiabatic balance, ± 0.08"
)
LEAST_WATER_PER_FLOUR = Constant(
    1.25, "kg/kg", 1.2, 1.3, "2 g water per g starch for one full endotherm; 65 to 70 % starch"
)
