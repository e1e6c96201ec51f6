"""A laboratory's report as it was copied: each value lands in its field, or its line is listed.

The reports are invented; their layouts and names are those that laboratories of six countries use.
"""

from pathlib import Path

import pytest

from saltcalc.service.lab_report import read_report
from saltcalc.service.report_lines import line_of

REPORTS = Path(__file__).parent / "lab_reports"

FOUND = {
    "de_tabs.txt": {
        "sample_id": "4711-B",
        "sampled_on": "2025-03-12",
        "crop": "Tomate",
        "extraction": "one_to_one_and_half",
        "ph": "6,2",
        "ec": "1,85 mS/cm",
        "nitrate_n": "45,2 mg/L",
        "ammonium_n": "< 0,5 mg/L",
        "chloride": "92 mg/L",
        "sodium": "3,2 mmol/l",
        "phosphorus": "12 mg/L P2O5",
    },
    "de_cat.txt": {
        "sample_id": "2025/118",
        "ph_in_cacl2": "5,7",
        "salts": "1,9 g/l",
        "nitrate_n": "145 mg/L",
        "potassium": "210 mg/L K2O",
    },
    "de_water.txt": {
        "ec": "910 µS/cm",
        "ph": "7,4",
        "sodium": "95 mg/L",
        "chloride": "142 mg/L",
        "bicarbonate": "210 mg/L",
        "sulfate_s": "48 mg/L SO4",
        "nitrate_n": "12 mg/L NO3",
        "boron": "0,12 mg/L",
    },
    "en_sme_marks.txt": {
        "sample_id": "Bench 7",
        "crop": "French bean",
        "extraction": "saturated_media_extract",
        "ph": "5.9",
        "ec": "3.10 mmhos/cm",
        "nitrate_n": "142 ppm",
        "potassium": "210 ppm",
        "calcium": "120.5 ppm",
        "sodium": "98 ppm",
        "chloride": "150 ppm",
        "sulfate_s": "88 ppm SO4",
        "boron": "<0.05 ppm",
        "iron": "0.8 ppm",
    },
    "en_one_to_two.csv": {
        "extraction": "one_to_two",
        "ec": "1.45 mS/cm",
        "ph": "6.4",
        "nitrate_n": "38 mg/L",
        "ammonium_n": "<1 mg/L",
        "chloride": "140 mg/L",
        "sodium": "110 mg/L",
        "boron": "0.31 mg/L",
    },
    "en_pour_through.txt": {
        "sample_id": "Bed B",
        "extraction": "pour_through",
        "ec": "2.8 mS/cm",
        "ph": "6.1",
        "nitrate_n": "95 ppm",
        "potassium": "160 ppm",
    },
    "en_20_degrees.txt": {
        "extraction": "saturated_media_extract",
        "ec": "2.1 mS/cm",
        "temperature": "20 °C",
        "ph": "6.0",
        "nitrate_n": "88 mg/L",
        "chloride": "61 mg/L",
        "sulfate_s": "40 mg/L SO4",
    },
    "fr_semicolons.txt": {
        "extraction": "one_to_one_and_half",
        "ph": "6,4",
        "ec": "1,25 mS/cm",
        "nitrate_n": "38,5 mg/L",
        "ammonium_n": "1,2 mg/L",
        "phosphorus": "4,1 mg/L",
        "potassium": "85 mg/L",
        "sodium": "120 mg/L",
        "chloride": "4,5 meq/l",
        "sulfate_s": "120 mg/L SO4",
        "boron": "0,25 mg/L",
    },
    "fr_guide_first.txt": {
        "extraction": "saturated_paste",
        "ec": "2,75 mS/cm",
        "ph": "6,8",
        "nitrate_n": "62 mg/L",
        "potassium": "118 mg/L",
        "chloride": "210 mg/L",
        "phosphorus": "33 mg/L P2O5",
    },
    "es_paste_meq.txt": {
        "sample_id": "22/135",
        "sampled_on": "2025-03-30",
        "extraction": "saturated_paste",
        "ec": "3,45 dS/m",
        "ph": "7,1",
        "nitrate_n": "12,5 mmol/L",
        "ammonium_n": "0,3 mmol/L",
        "phosphorus": "0,8 mmol/L",
        "potassium": "5,2 meq/L",
        "calcium": "11,2 meq/L",
        "magnesium": "6,3 meq/L",
        "sodium": "14,8 meq/L",
        "chloride": "13,9 meq/L",
        "sulfate_s": "9,8 meq/L",
        "bicarbonate": "2,1 meq/L",
        "boron": "0,62 mg/L",
    },
    "es_ms_m.txt": {
        "sample_id": "bancal 4",
        "extraction": "one_to_five",
        "ph": "6,7",
        "ec": "48 mS/m",
        "nitrate_n": "21 mg/L",
        "ammonium_n": "2,5 mg/L",
        "potassium": "66 mg/L",
        "chloride": "1,9 mmol/l",
        "boron": "< 0,05 mg/L",
    },
    "it_oxides.txt": {
        "sample_id": "17",
        "substrate": "torba",
        "extraction": "one_to_two",
        "ec": "1450 µS/cm",
        "ph": "6,0",
        "nitrate_n": "62 mg/L",
        "ammonium_n": "3 mg/L",
        "phosphorus": "20 mg/L P2O5",
        "potassium": "15 mg/100 ml K2O",
        "chloride": "95 mg/L",
    },
    "it_weight.txt": {"sampled_on": "2025-03-21", "ec": "1,1 mS/cm"},
    "nl_columns.txt": {
        "sample_id": "123456",
        "sampled_on": "2025-02-14",
        "extraction": "one_to_one_and_half",
        "ph": "5,8",
        "ec": "145 mS/m",
        "ammonium_n": "<0,1 mmol/l",
        "potassium": "2,4 mmol/l",
        "sodium": "4,1 mmol/l",
        "calcium": "2,9 mmol/l",
        "magnesium": "1,4 mmol/l",
        "nitrate_n": "3,9 mmol/l",
        "chloride": "3,8 mmol/l",
        "sulfate_s": "2,6 mmol/l",
        "bicarbonate": "<0,1 mmol/l",
        "phosphorus": "0,45 mmol/l",
        "boron": "18 µmol/l",
        "iron": "9,2 µmol/l",
    },
    "nl_no_header.txt": {
        "crop": "sla",
        "ec": "1,9 mS/cm",
        "ph": "5,6",
        "chloride": "3,1 mmol/l",
        "sodium": "2,9 mmol/l",
    },
}
"""What each report says, as read by eye; every other line of it must be listed."""

WHERE = {
    "us_bars.txt": {
        "/sample_id": "26-04417",
        "/medium/extraction": "saturated_media_extract",
        "/medium/ph": "6.7",
        "/medium/ec": "4.62 mmho/cm",
        "/medium/ions/nitrate_n": "214.3 ppm",
        "/medium/ions/ammonium_n": "1.7 ppm",
        "/medium/ions/phosphorus": "6.8 ppm",
        "/medium/ions/potassium": "388 ppm",
        "/medium/ions/calcium": "251 ppm",
        "/medium/ions/magnesium": "82.4 ppm",
        "/medium/ions/sodium": "242 ppm",
        "/medium/ions/chloride": "497 ppm",
        "/medium/ions/sulfate_s": "74 ppm",
        "/medium/ions/boron": "0.37 ppm",
        "/medium/micronutrients/iron": "1.12 ppm",
        "/medium/micronutrients/manganese": "0.40 ppm",
        "/medium/micronutrients/zinc": "0.21 ppm",
        "/medium/micronutrients/copper": "<0.05 ppm",
    },
    "de_extract_litre.txt": {
        "/sample_id": "Kübel 3, Kokos/Kompost",
        "/sampled_on": "2026-03-11",
        "/medium/extraction": "one_to_five",
        "/medium/ph": "6,8",
        "/medium/ec": "62,4 mS/m",
        "/medium/ions/nitrate_n": "28,1 mg/L",
        "/medium/ions/ammonium_n": "< 0,5 mg/L",
        "/medium/ions/phosphorus": "2,2 mg/L",
        "/medium/ions/potassium": "61 mg/L",
        "/medium/ions/calcium": "29 mg/L",
        "/medium/ions/magnesium": "9,6 mg/L",
        "/medium/ions/sodium": "38 mg/L",
        "/medium/ions/chloride": "77 mg/L",
        "/medium/ions/sulfate_s": "33 mg/L SO4",
    },
    "fr_water_grouped.txt": {
        "/sample_id": "26-1187",
        "/water/ph": "7,6",
        "/water/ec": "1\u202f140 µS/cm",
        "/water/alkalinity": "22 °f",
        "/water/ions/nitrate_n": "18,6 mg/L NO3",
        "/water/ions/chloride": "187 mg/L",
        "/water/ions/sulfate_s": "64 mg/L SO4",
        "/water/ions/sodium": "118 mg/L",
        "/water/ions/potassium": "6,1 mg/L",
        "/water/ions/calcium": "88 mg/L",
        "/water/ions/magnesium": "23 mg/L",
        "/water/ions/boron": "0,21 mg/L",
    },
    "en_one_row.csv": {
        "/sample_id": "Tub 7",
        "/crops/0/crop": "Beetroot",
        "/medium/extraction": "one_to_two",
        "/medium/ph": "6.5",
        "/medium/ec": "1.94 mS/cm",
        "/medium/ions/nitrate_n": "71 mg/L",
        "/medium/ions/ammonium_n": "2 mg/L",
        "/medium/ions/phosphorus": "4 mg/L",
        "/medium/ions/potassium": "130 mg/L",
        "/medium/ions/calcium": "88 mg/L",
        "/medium/ions/magnesium": "31 mg/L",
        "/medium/ions/sulfate_s": "40 mg/L",
        "/medium/ions/sodium": "96 mg/L",
        "/medium/ions/chloride": "171 mg/L",
        "/medium/ions/boron": "0.15 mg/L",
    },
    "nl_target.txt": {
        "/medium/extraction": "one_to_one_and_half",
        "/sample_id": "bak 5 kokos/compost",
        "/crops/0/crop": "stamslaboon",
        "/medium/ph": "6,3",
        "/medium/ec": "2,1 mS/cm",
        "/medium/ions/ammonium_n": "<0,1 mmol/l",
        "/medium/ions/potassium": "3,9 mmol/l",
        "/medium/ions/sodium": "4,6 mmol/l",
        "/medium/ions/calcium": "2,7 mmol/l",
        "/medium/ions/magnesium": "1,4 mmol/l",
        "/medium/ions/nitrate_n": "6,2 mmol/l",
        "/medium/ions/chloride": "6,7 mmol/l",
        "/medium/ions/sulfate_s": "1,3 mmol/l",
        "/medium/ions/bicarbonate": "0,9 mmol/l",
        "/medium/ions/phosphorus": "0,35 mmol/l",
        "/medium/micronutrients/iron": "14 µmol/l",
        "/medium/ions/boron": "16 µmol/l",
    },
    "au_soil.txt": {
        "/sample_id": "Tunnel 2 bed",
        "/sampled_on": "2025-04-14",
        "/medium/ph": "7.8",
        "/medium/ph_in_cacl2": "7.1",
    },
    "ca_wrapped.txt": {
        "/sample_id": "Bench 12, tomato plugs",
        "/sampled_on": "2025-04-02",
        "/medium/extraction": "saturated_media_extract",
        "/medium/ph": "5.7",
        "/medium/ec": "1.94 mS/cm",
        "/medium/ions/nitrate_n": "61 mg/L",
        "/medium/ions/ammonium_n": "< 1 mg/L",
        "/medium/ions/phosphorus": "7.5 mg/L",
        "/medium/ions/potassium": "96 mg/L",
        "/medium/ions/calcium": "88 mg/L",
        "/medium/ions/magnesium": "34 mg/L",
        "/medium/ions/sulfate_s": "140 mg/L SO4",
        "/medium/ions/sodium": "39 mg/L",
        "/medium/ions/chloride": "52 mg/L",
    },
    "de_vdlufa.txt": {
        "/sample_id": "Beet 2",
        "/sampled_on": "2025-04-15",
        "/medium/ph_in_cacl2": "5,9",
        "/medium/cat/nitrate_n": "171 mg/L",
        "/medium/cat/ammonium_n": "16 mg/L",
        "/medium/cat/phosphorus": "118 mg/L P2O5",
        "/medium/cat/potassium": "342 mg/L K2O",
        "/medium/cat/magnesium": "120 mg/L",
    },
    "nl_measured_target.txt": {
        "/sample_id": "250402-03",
        "/sampled_on": "2025-04-02",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ec": "1,7 mS/cm",
        "/medium/ph": "6,3",
        "/medium/ions/ammonium_n": "0,2 mmol/l",
        "/medium/ions/potassium": "4,6 mmol/l",
        "/medium/ions/sodium": "3,6 mmol/l",
        "/medium/ions/calcium": "3,2 mmol/l",
        "/medium/ions/magnesium": "1,6 mmol/l",
        "/medium/ions/nitrate_n": "8,0 mmol/l",
        "/medium/ions/chloride": "4,2 mmol/l",
        "/medium/ions/sulfate_s": "1,9 mmol/l",
        "/medium/ions/bicarbonate": "0,6 mmol/l",
        "/medium/ions/phosphorus": "0,3 mmol/l",
        "/medium/micronutrients/iron": "14 µmol/l",
        "/medium/ions/boron": "16 µmol/l",
    },
    "en_bars_run_on.txt": {
        "/medium/extraction": "pour_through",
        "/medium/ec": "2.6 mS/cm",
        "/medium/ph": "6.1",
        "/medium/ions/nitrate_n": "140 ppm",
        "/medium/ions/phosphorus": "9 ppm",
        "/medium/ions/potassium": "180 ppm",
        "/medium/ions/calcium": "130 ppm",
        "/medium/ions/magnesium": "45 ppm",
        "/medium/ions/sodium": "60 ppm",
        "/medium/ions/chloride": "95 ppm",
    },
    "de_cat_sum.txt": {
        "/medium/cat/salts": "3,1 g/l",
        "/medium/ph_in_cacl2": "5,8",
        "/medium/cat/mineral_n": "260 mg/L",
        "/medium/cat/phosphorus": "180 mg/L P2O5",
        "/medium/cat/potassium": "420 mg/L K2O",
        "/medium/cat/magnesium": "190 mg/L",
    },
    "es_meq_run_on.txt": {
        "/medium/extraction": "saturated_paste",
        "/medium/ec": "3,85 mS/cm",
        "/medium/ph": "6,45",
        "/medium/ions/calcium": "14,5 meq/L",
        "/medium/ions/magnesium": "6,7 meq/L",
        "/medium/ions/sodium": "8,3 meq/L",
        "/medium/ions/potassium": "10,5 meq/L",
        "/medium/ions/chloride": "10,2 meq/L",
        "/medium/ions/sulfate_s": "5,9 meq/L",
        "/medium/ions/bicarbonate": "1,6 meq/L",
        "/medium/ions/nitrate_n": "19,3 meq/L",
    },
    "nl_persvocht.txt": {
        "/medium/extraction": "press",
        "/medium/ec": "2,1 mS/cm",
        "/medium/ph": "6,0",
        "/medium/ions/nitrate_n": "11,2 mmol/l",
        "/medium/ions/ammonium_n": "<0,1 mmol/l",
        "/medium/ions/potassium": "6,1 mmol/l",
        "/medium/ions/sodium": "4,4 mmol/l",
        "/medium/ions/calcium": "4,0 mmol/l",
        "/medium/ions/magnesium": "2,2 mmol/l",
        "/medium/ions/chloride": "5,3 mmol/l",
        "/medium/ions/sulfate_s": "2,6 mmol/l",
    },
    "en_water_first.txt": {
        "/sample_id": "T3-COIR",
        "/crops/0/crop": "Snap bean (seedling)",
        "/medium/extraction": "one_to_two",
        "/medium/ph": "6.2",
        "/medium/ec": "1450 umhos/cm",
        "/medium/ions/nitrate_n": "95 mg/L",
        "/medium/ions/potassium": "140 mg/L",
        "/medium/ions/sodium": "66 mg/L",
        "/medium/ions/chloride": "1.2E+02 mg/L",
    },
    "en_across_semicolons.csv": {
        "/sample_id": "Bed 4",
        "/medium/ec": "2,1 mS/cm",
        "/medium/ph": "6,0",
        "/medium/ions/nitrate_n": "45 mg/L",
        "/medium/ions/potassium": "120 mg/L",
        "/medium/ions/sodium": "88 mg/L",
    },
    "en_across_units.csv": {
        "/sample_id": "771",
        "/medium/extraction": "saturated_media_extract",
        "/medium/ec": "2.10 mS/cm",
        "/medium/ph": "6.0",
        "/medium/ions/nitrate_n": "45 mg/L",
        "/medium/ions/potassium": "120 mg/L",
        "/medium/ions/sodium": "88 mg/L",
        "/medium/ions/chloride": "95 mg/L",
    },
    "en_sections.txt": {
        "/medium/extraction": "saturated_paste",
        "/medium/ec": "3.2 dS/m",
    },
    "es_pasta.txt": {
        "/sample_id": "2025-0331",
        "/sampled_on": "2025-03-28",
        "/crops/0/crop": "Judía verde",
        "/medium/extraction": "saturated_paste",
        "/medium/ph": "7,9",
        "/medium/ec": "4,15 dS/m",
        "/medium/ions/calcium": "14,20 meq/l",
        "/medium/ions/magnesium": "8,10 meq/l",
        "/medium/ions/sodium": "19,60 meq/l",
        "/medium/ions/potassium": "1,90 meq/l",
        "/medium/ions/chloride": "21,40 meq/l",
        "/medium/ions/sulfate_s": "15,80 meq/l",
        "/medium/ions/bicarbonate": "3,20 meq/l",
        "/medium/ions/nitrate_n": "3,70 meq/l",
        "/medium/ions/boron": "0,85 ppm",
    },
    "fr_meq.txt": {
        "/sample_id": "S25-0912",
        "/crops/0/crop": "Fraisier",
        "/sampled_on": "2025-04-22",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ph": "6,15",
        "/medium/ec": "2,05 mS/cm",
        "/medium/ions/nitrate_n": "84,0 mg/L",
        "/medium/ions/ammonium_n": "< 0,7 mg/L",
        "/medium/ions/phosphorus": "12,4 mg/L",
        "/medium/ions/potassium": "156 mg/L",
        "/medium/ions/calcium": "120 mg/L",
        "/medium/ions/magnesium": "36,5 mg/L",
        "/medium/ions/sodium": "92 mg/L",
        "/medium/ions/chloride": "142 mg/L",
        "/medium/ions/sulfate_s": "192 mg/L SO4",
    },
    "uk_run_on_labels.txt": {
        "/sample_id": "Tub 4 reused coir",
        "/crops/0/crop": "French beans (seedling)",
        "/medium/extraction": "one_to_five",
        "/medium/ph": "6.6",
        "/medium/temperature": "20 °C",
        "/medium/ec": "612 uS/cm",
    },
    "de_semicolons.txt": {
        "/sample_id": "26-0417",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ph": "5,8",
        "/medium/ec": "2,31 mS/cm",
        "/medium/ions/nitrate_n": "7,4 mmol/l",
        "/medium/ions/ammonium_n": "<0,1 mmol/l",
        "/medium/ions/potassium": "6,2 mmol/l",
        "/medium/ions/calcium": "3,8 mmol/l",
        "/medium/ions/magnesium": "1,9 mmol/l",
        "/medium/ions/sodium": "5,5 mmol/l",
        "/medium/ions/chloride": "6,1 mmol/l",
        "/medium/ions/sulfate_s": "3,2 mmol/l",
        "/medium/ions/bicarbonate": "0,3 mmol/l",
        "/medium/ions/phosphorus": "0,6 mmol/l",
    },
    "fr_sme.txt": {
        "/sample_id": "Bac 7",
        "/medium/extraction": "saturated_media_extract",
        "/medium/ph": "6,9",
        "/medium/ec": "3,8 mS/cm",
        "/medium/ions/nitrate_n": "52 mg/L",
        "/medium/ions/ammonium_n": "2,1 mg/L",
        "/medium/ions/potassium": "210 mg/L",
        "/medium/ions/calcium": "160 mg/L",
        "/medium/ions/magnesium": "72 mg/L",
        "/medium/ions/sodium": "340 mg/L",
        "/medium/ions/chloride": "610 mg/L",
        "/medium/ions/sulfate_s": "290 mg/L SO4",
        "/medium/micronutrients/iron": "0,9 mg/L",
    },
    "us_columns.txt": {
        "/sample_id": "Bench 3",
        "/medium/extraction": "saturated_media_extract",
        "/medium/ph": "5.4",
        "/medium/ec": "2.9 mmho/cm",
        "/medium/ions/nitrate_n": "118 ppm",
        "/medium/ions/ammonium_n": "14 ppm",
        "/medium/ions/phosphorus": "7.7 ppm",
        "/medium/ions/potassium": "230 ppm",
        "/medium/ions/calcium": "143 ppm",
        "/medium/ions/magnesium": "66 ppm",
        "/medium/ions/sodium": "55 ppm",
        "/medium/ions/sulfate_s": "88 ppm",
        "/medium/ions/chloride": "61 ppm",
        "/medium/ions/boron": "0.3 ppm",
        "/medium/micronutrients/iron": "1.4 ppm",
    },
    "es_thousands.txt": {
        "/sample_id": "Agua de pozo 2",
        "/water/ph": "7,6",
        "/water/ec": "1 480 µS/cm",
        "/water/ions/calcium": "4,1 meq/L",
        "/water/ions/magnesium": "2,9 meq/L",
        "/water/ions/sodium": "7,7 meq/L",
        "/water/ions/potassium": "0,2 meq/L",
        "/water/ions/chloride": "8,3 meq/L",
        "/water/ions/sulfate_s": "2,4 meq/L",
        "/water/ions/bicarbonate": "4,0 meq/L",
        "/water/ions/nitrate_n": "0,3 meq/L",
        "/water/ions/boron": "0,35 mg/L",
    },
    "ie_water.txt": {
        "/sampled_on": "2025-03-21",
        "/water/ph": "7.6",
        "/water/ec": "1 120 µS/cm",
        "/water/alkalinity": "244 mg/l CaCO3",
        "/water/ions/calcium": "84 mg/L",
        "/water/ions/magnesium": "18.5 mg/L",
        "/water/ions/sodium": "112 mg/L",
        "/water/ions/chloride": "178 mg/L",
        "/water/ions/sulfate_s": "42 mg/L SO4",
        "/water/ions/nitrate_n": "9.8 mg/L NO3",
        "/water/ions/boron": "0.06 mg/L",
    },
    "it_estratto.txt": {
        "/sample_id": "4 - serra nord",
        "/medium/ph": "6,4",
        "/medium/extraction": "one_to_five",
        "/medium/ec": "52,3 mS/m",
    },
    "nl_kolom.txt": {
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ph": "5,7",
        "/medium/ec": "1,6 mS/cm",
        "/medium/ions/ammonium_n": "0,2 mmol/l",
        "/medium/ions/potassium": "2,9 mmol/l",
        "/medium/ions/sodium": "3,3 mmol/l",
        "/medium/ions/calcium": "2,2 mmol/l",
        "/medium/ions/magnesium": "1,1 mmol/l",
        "/medium/ions/nitrate_n": "4,6 mmol/l",
        "/medium/ions/chloride": "3,9 mmol/l",
        "/medium/ions/sulfate_s": "1,7 mmol/l",
        "/medium/ions/bicarbonate": "0,4 mmol/l",
        "/medium/ions/phosphorus": "0,61 mmol/l",
        "/medium/micronutrients/iron": "6,1 µmol/l",
        "/medium/ions/boron": "14 µmol/l",
    },
    "nl_potgrond.txt": {
        "/sample_id": "700123",
        "/sampled_on": "2025-02-03",
        "/crops/0/crop": "Cyclaam",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ec": "1,2 mS/cm",
        "/medium/ph": "5,6",
        "/medium/ions/ammonium_n": "0,3 mmol/l",
        "/medium/ions/potassium": "2,1 mmol/l",
        "/medium/ions/sodium": "1,9 mmol/l",
        "/medium/ions/calcium": "1,6 mmol/l",
        "/medium/ions/magnesium": "0,9 mmol/l",
        "/medium/ions/nitrate_n": "3,2 mmol/l",
        "/medium/ions/chloride": "1,4 mmol/l",
        "/medium/ions/sulfate_s": "1,8 mmol/l",
        "/medium/ions/bicarbonate": "<0,1 mmol/l",
        "/medium/ions/phosphorus": "0,52 mmol/l",
        "/medium/micronutrients/iron": "8,4 µmol/l",
        "/medium/micronutrients/manganese": "1,2 µmol/l",
        "/medium/micronutrients/zinc": "2,0 µmol/l",
        "/medium/ions/boron": "11 µmol/l",
        "/medium/micronutrients/copper": "0,5 µmol/l",
    },
    "nz_media.txt": {
        "/sample_id": "Mix 4 tubs",
        "/medium/substrate": "Potting Mix",
        "/medium/ph": "6.1",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ec": "2.3 mS/cm",
        "/medium/ions/nitrate_n": "121 mg/L",
        "/medium/ions/ammonium_n": "3 mg/L",
        "/medium/ions/phosphorus": "11 mg/L",
        "/medium/ions/potassium": "188 mg/L",
        "/medium/ions/sulfate_s": "64 mg/L",
        "/medium/ions/calcium": "102 mg/L",
        "/medium/ions/magnesium": "44 mg/L",
        "/medium/ions/sodium": "136 mg/L",
    },
    "uk_en13652.txt": {
        "/medium/extraction": "one_to_five",
        "/medium/ph": "6.1",
        "/medium/ec": "385 uS/cm",
    },
    "uk_en13652_extract.txt": {
        "/medium/extraction": "one_to_five",
        "/medium/ph": "6.4",
        "/medium/ec": "285 µS/cm",
        "/medium/ions/ammonium_n": "1.1 mg/L",
        "/medium/ions/nitrate_n": "14.2 mg/L",
        "/medium/ions/phosphorus": "3.1 mg/L",
        "/medium/ions/potassium": "44.6 mg/L",
        "/medium/ions/magnesium": "6.20 mg/L",
        "/medium/ions/sodium": "15.8 mg/L",
        "/medium/ions/chloride": "31.0 mg/L",
        "/medium/ions/sulfate_s": "22.4 mg/L SO4",
        "/medium/ions/boron": "0.08 mg/L",
    },
    "us_pour_through_ab.txt": {
        "/medium/extraction": "pour_through",
    },
    "us_sme_sufficiency.txt": {
        "/sample_id": "24-03117",
        "/crops/0/crop": "Petunia",
        "/medium/extraction": "saturated_media_extract",
        "/medium/ph": "6.3",
        "/medium/ec": "3.42 dS/m",
        "/medium/ions/nitrate_n": "168 ppm",
        "/medium/ions/ammonium_n": "21.4 ppm",
        "/medium/ions/phosphorus": "9.7 ppm",
        "/medium/ions/potassium": "212 ppm",
        "/medium/ions/calcium": "143 ppm",
        "/medium/ions/magnesium": "61 ppm",
        "/medium/ions/sodium": "74 ppm",
        "/medium/ions/chloride": "116 ppm",
        "/medium/ions/sulfate_s": "58 ppm",
        "/medium/micronutrients/iron": "0.62 ppm",
        "/medium/ions/boron": "0.21 ppm",
    },
    "us_water.txt": {
        "/water/ions/sodium": "138 ppm",
        "/water/ions/calcium": "60 ppm",
        "/water/ions/magnesium": "24 ppm",
        "/water/ions/chloride": "177 ppm",
        "/water/ions/bicarbonate": "244 ppm",
        "/water/ions/sulfate_s": "96 ppm SO4",
        "/water/ions/boron": "0.35 ppm",
        "/water/ph": "7.9",
        "/water/ec": "1.14 mmho/cm",
    },
    "de_reference_last.txt": {
        "/sample_id": "Tunnel 2, Kübel links",
        "/crops/0/crop": "Buschbohne",
        "/medium/substrate": "Kokossubstrat",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ph": "5,9",
        "/medium/ec": "2,14 mS/cm",
        "/medium/ions/nitrate_n": "168 mg/L",
        "/medium/ions/ammonium_n": "< 1,0 mg/L",
        "/medium/ions/phosphorus": "11,2 mg/L",
        "/medium/ions/potassium": "205 mg/L",
        "/medium/ions/magnesium": "33,5 mg/L",
        "/medium/ions/calcium": "141 mg/L",
        "/medium/ions/sodium": "98 mg/L",
        "/medium/ions/chloride": "155 mg/L",
        "/medium/ions/sulfate_s": "180 mg/L SO4",
        "/medium/ions/boron": "0,21 mg/L",
        "/medium/micronutrients/iron": "0,6 mg/l",
    },
    "de_cat_kcl.txt": {
        "/medium/ph_in_cacl2": "6,8",
        "/medium/cat/salts": "3,4 g/l",
        "/medium/cat/nitrate_n": "212 mg/L",
        "/medium/cat/ammonium_n": "9 mg/L",
        "/medium/cat/phosphorus": "480 mg/L P2O5",
        "/medium/cat/potassium": "1 150 mg/L K2O",
        "/medium/cat/magnesium": "190 mg/L",
    },
    "de_well.txt": {
        "/water/ph": "7,41",
        "/water/ec": "1 240 µS/cm",
        "/water/alkalinity": "4,9 mmol/l",
        "/water/ions/sodium": "122 mg/L",
        "/water/ions/potassium": "7,8 mg/L",
        "/water/ions/calcium": "101 mg/L",
        "/water/ions/magnesium": "24,5 mg/L",
        "/water/ions/chloride": "188 mg/L",
        "/water/ions/sulfate_s": "74 mg/L SO4",
        "/water/ions/boron": "0,09 mg/L",
    },
    "us_sme_three_ranges.txt": {
        "/sample_id": "Bench 3 coir",
        "/medium/extraction": "saturated_media_extract",
        "/medium/ph": "6.1",
        "/medium/ec": "3.85 mmho/cm",
        "/medium/ions/nitrate_n": "231 ppm",
        "/medium/ions/ammonium_n": "4.2 ppm",
        "/medium/ions/phosphorus": "12.6 ppm",
        "/medium/ions/potassium": "318 ppm",
        "/medium/ions/calcium": "262 ppm",
        "/medium/ions/magnesium": "71 ppm",
        "/medium/ions/sodium": "148 ppm",
        "/medium/ions/chloride": "301 ppm",
        "/medium/ions/sulfate_s": "77 ppm",
        "/medium/ions/boron": "0.35 ppm",
    },
    "en_commas_pour_through.txt": {
        "/medium/extraction": "pour_through",
        "/sample_id": "Block A",
        "/medium/ec": "3.1 mS/cm",
        "/medium/ph": "6.2",
        "/medium/ions/nitrate_n": "190 mg/L",
        "/medium/ions/potassium": "240 mg/L",
        "/medium/ions/sodium": "85 mg/L",
    },
    "us_water_two_units.txt": {
        "/water/ions/calcium": "84 mg/L",
        "/water/ions/magnesium": "31 mg/L",
        "/water/ions/sodium": "146 mg/L",
        "/water/ions/potassium": "4 mg/L",
        "/water/ions/bicarbonate": "305 mg/L",
        "/water/ions/chloride": "192 mg/L",
        "/water/ions/sulfate_s": "110 mg/L SO4",
        "/water/ions/boron": "0.31 mg/L",
        "/water/ec": "1.21 dS/m",
        "/water/ph": "7.6",
    },
    "fr_oxides.txt": {
        "/sample_id": "Serre 1 - bac 12",
        "/sampled_on": "2026-02-21",
        "/crops/0/crop": "haricot vert",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ph": "6,3",
        "/medium/ec": "1,87 mS/cm",
        "/medium/ions/nitrate_n": "121,0 mg/L",
        "/medium/ions/ammonium_n": "< 0,5 mg/L",
        "/medium/ions/phosphorus": "21 mg/L P2O5",
        "/medium/ions/potassium": "188 mg/L K2O",
        "/medium/ions/calcium": "170 mg/L CaO",
        "/medium/ions/magnesium": "52 mg/L MgO",
        "/medium/ions/sodium": "81 mg/L",
        "/medium/ions/chloride": "133 mg/L",
        "/medium/ions/boron": "0,14 mg/L",
    },
    "fr_water_degrees.txt": {
        "/water/ph": "7,2",
        "/water/ec": "985 µS/cm",
        "/water/alkalinity": "21,5 °f",
        "/water/ions/calcium": "98 mg/L",
        "/water/ions/magnesium": "18 mg/L",
        "/water/ions/sodium": "76 mg/L",
        "/water/ions/potassium": "3,1 mg/L",
        "/water/ions/chloride": "118 mg/L",
        "/water/ions/sulfate_s": "61 mg/L SO4",
    },
    "es_cations_below.txt": {
        "/sample_id": "Invernadero 5",
        "/crops/0/crop": "judía",
        "/medium/extraction": "saturated_paste",
        "/medium/ph": "7,35",
        "/medium/ec": "4,62 dS/m",
        "/medium/ions/calcium": "18,4 meq/L",
        "/medium/ions/magnesium": "9,7 meq/L",
        "/medium/ions/sodium": "16,2 meq/L",
        "/medium/ions/potassium": "3,9 meq/L",
        "/medium/ions/chloride": "17,5 meq/L",
        "/medium/ions/sulfate_s": "12,8 meq/L",
        "/medium/ions/bicarbonate": "3,2 meq/L",
        "/medium/ions/nitrate_n": "13,1 meq/L",
        "/medium/ions/boron": "0,62 mg/L",
    },
    "es_soil_ppm.txt": {
        "/medium/ph": "8,1",
    },
    "it_bars_mmol.txt": {
        "/sample_id": "vaso 7",
        "/sampled_on": "2026-03-05",
        "/medium/extraction": "one_to_one_and_half",
        "/medium/ph": "6,4",
        "/medium/ec": "1,96 mS/cm",
        "/medium/ions/potassium": "4,9 mmol/l",
        "/medium/ions/calcium": "3,1 mmol/l",
        "/medium/ions/magnesium": "1,2 mmol/l",
        "/medium/ions/sodium": "3,8 mmol/l",
        "/medium/ions/chloride": "4,1 mmol/l",
        "/medium/ions/sulfate_s": "1,6 mmol/l",
        "/medium/ions/phosphorus": "0,38 mmol/l",
    },
    "nl_target_beside.txt": {
        "/medium/extraction": "one_to_one_and_half",
        "/sample_id": "partij 22",
        "/sampled_on": "2026-03-14",
        "/crops/0/crop": "sla",
        "/medium/ec": "1,9 mS/cm",
        "/medium/ph": "5,7",
        "/medium/ions/sodium": "3,4 mmol/l",
        "/medium/ions/chloride": "3,9 mmol/l",
        "/medium/ions/bicarbonate": "< 0,1 mmol/l",
    },
    "de_soil_mg_100_g.txt": {
        "/medium/ph_in_cacl2": "6,2",
    },
    "nl_press.txt": {
        "/medium/extraction": "press",
        "/medium/ph": "5,9",
        "/medium/ions/potassium": "7,8 mmol/l",
        "/medium/ions/calcium": "7,1 mmol/l",
        "/medium/ions/nitrate_n": "19,5 mmol/l",
        "/medium/ions/sodium": "5,2 mmol/l",
        "/medium/ions/chloride": "4,4 mmol/l",
    },
    "fr_soil_exchangeable.txt": {
        "/medium/ph": "7,8",
    },
    "es_water_both_units.txt": {
        "/sampled_on": "2026-03-03",
        "/water/ph": "7,9",
        "/water/ec": "1 350 µS/cm",
        "/water/ions/chloride": "212,7 mg/L",
        "/water/ions/sulfate_s": "96,0 mg/L SO4",
        "/water/ions/bicarbonate": "268,4 mg/L",
        "/water/ions/calcium": "96,2 mg/L",
        "/water/ions/magnesium": "29,2 mg/L",
        "/water/ions/sodium": "126,5 mg/L",
        "/water/ions/potassium": "3,9 mg/L",
        "/water/ions/boron": "0,18 mg/L",
    },
    "it_well_20_degrees.txt": {
        "/water/ph": "7,5",
        "/water/temperature": "20 °C",
        "/water/ec": "890 µS/cm",
        "/water/ions/chloride": "96 mg/L",
        "/water/ions/sulfate_s": "58 mg/L SO4",
        "/water/ions/nitrate_n": "27 mg/L NO3",
        "/water/ions/sodium": "61 mg/L",
        "/water/ions/calcium": "102 mg/L",
        "/water/hardness": "34 °f",
    },
    "fr_pour_through.txt": {
        "/medium/extraction": "pour_through",
        "/medium/ec": "2,6 mS/cm",
        "/medium/ph": "5,8",
        "/medium/ions/nitrate_n": "142 ppm",
        "/medium/ions/potassium": "210 ppm",
        "/medium/ions/sodium": "88 ppm",
        "/medium/ions/chloride": "120 ppm",
    },
}
"""What more reports say, each with where in the request it belongs."""

ASKED = {
    "de_cat_kcl.txt": {"Rohdichte": "not a name"},
    "de_well.txt": {"Gesamthärte": "say it already", "Nitrat": "N / NO3", "Eisen": "gesamt"},
    "de_soil_mg_100_g.txt": {"Natrium": "by weight", "Salzgehalt": "'%'", "K2O": "CAL"},
    "us_sme_three_ranges.txt": {"% of total": "more than one"},
    "us_water_two_units.txt": {"Nitrate": "N / NO3", "TDS": "gave this before"},
    "fr_oxides.txt": {"Sulfates": "so3"},
    "fr_water_degrees.txt": {"TH": "say it already", "Fer": "not a name"},
    "fr_soil_exchangeable.txt": {"CE": "by weight", "P2O5": "Olsen", "K2O": "echangeable"},
    "es_soil_ppm.txt": {"Potasio": "kilogram of soil", "CE": "by weight", "Sodio": "cambio"},
    "es_water_both_units.txt": {"Nitratos": "N / NO3"},
    "it_bars_mmol.txt": {"Azoto": "mg/100 g"},
    "it_well_20_degrees.txt": {"Ferro": "not a name"},
    "nl_target_beside.txt": {"NH4": "which figure", "B ": "which figure"},
    "nl_press.txt": {"EC": "No unit"},
    "us_pour_through_ab.txt": {"EC  ": "which figure", "NO3-N": "which figure"},
    "us_water.txt": {"Hardness": "CaCO3 / CaO", "Adj. SAR": "not a name"},
    "uk_en13652.txt": {"Nitrate-N": "Per litre of medium", "Dry matter": "not a name"},
    "it_estratto.txt": {"Azoto nitrico": "a litre of what", "Cloruri": "a litre of what"},
    "ie_water.txt": {"TDS": "calc"},
    "de_vdlufa.txt": {"Chlorid": "Per litre of medium", "Stickstoff": "say it already"},
    "es_pasta.txt": {"R.A.S.": "'r'", "P.S.I.": "more than one"},
    "en_sections.txt": {"Calcium": "Exchangeable cations", "Boron": "Leaf analysis"},
    "au_soil.txt": {
        "Electrical": "by weight",
        "Exchangeable Sodium": "exchangeable",
        "Chloride": "by weight",
    },
    "de_tabs.txt": {"Nitrat\t200": "N / NO3", "Salzgehalt": "KCl"},
    "en_sme_marks.txt": {"Ammonium ": "N / NH4"},
    "en_pour_through.txt": {
        "3. Phosphate": "P / PO4 / P2O5",
        "4. TDS": "gave this before",
        "5. Sodium": "adsorption",
        "Total nitrogen": "not a name",
    },
    "en_20_degrees.txt": {"Sodium": "1.25 or 1250"},
    "fr_semicolons.txt": {"Date": "two ways"},
    "it_weight.txt": {"Sodio": "by weight", "Potassio": "scambiabile", "Estrazione": "not"},
    "nl_no_header.txt": {"NO3": "which figure"},
}


@pytest.fixture
def read(client):
    with client.application.app_context():
        yield read_report


def test_every_report_has_its_values():
    assert {each.name for each in REPORTS.iterdir()} == FOUND.keys() | WHERE.keys()


@pytest.mark.parametrize("name", FOUND)
def test_each_value_lands_in_its_field(read, name):
    text = (REPORTS / name).read_text(encoding="utf-8")
    report = read(text)
    found = {each.pointer.rsplit("/", 1)[1]: each.value for each in report.taken}
    assert found == FOUND[name]
    owner = "/water/" if name == "de_water.txt" else "/medium/"
    about = ("sample_id", "sampled_on", "crop")
    others = [each.pointer for each in report.taken if not each.pointer.endswith(about)]
    assert all(each.startswith(owner) for each in others)


@pytest.mark.parametrize("name", WHERE)
def test_each_figure_lands_where_it_belongs(read, name):
    text = (REPORTS / name).read_text(encoding="utf-8")
    report = read(text)
    assert {each.pointer: each.value for each in report.taken} == WHERE[name]
    told = {each.line for each in (*report.taken, *report.left)}
    silent = [line for place, line in enumerate(text.splitlines(), 1) if place not in told]
    assert not [line for line in silent if line_of(0, line).figures]


@pytest.mark.parametrize("name", ASKED)
def test_what_is_open_is_listed_with_the_reason(read, name):
    left = read((REPORTS / name).read_text(encoding="utf-8")).left
    for begin, why in ASKED[name].items():
        (one,) = [each for each in left if each.text.startswith(begin)]
        assert why in one.why


@pytest.mark.parametrize("name", FOUND)
def test_no_line_with_a_figure_is_passed_over(read, name):
    text = (REPORTS / name).read_text(encoding="utf-8")
    report = read(text)
    told = {each.line for each in (*report.taken, *report.left)}
    silent = [line for place, line in enumerate(text.splitlines(), 1) if place not in told]
    headings = ("Parameter", "Test ", "Analyse", "Untersuchung ", "Determinación", "All results")
    more = ("   ", "Wasseranalyse", "Extraktionsmittel")
    assert all(line.startswith((*headings, *more)) for line in silent)


@pytest.mark.parametrize(
    "line",
    [
        "EC 1:2 1.45 mS/cm",
        "1.45 mS/cm EC (1:2)",
        "EC (25 °C, 1:2 v/v): 1.45 mS/cm",
        "12) E.C. 1:2\t1.45\tmS/cm",
        "EC 1:2;1.45;mS/cm;0.5-1.0",
    ],
)
def test_name_figure_and_unit_in_any_order(read, line):
    found = {each.pointer: each.value for each in read(line).taken}
    assert found == {"/medium/extraction": "one_to_two", "/medium/ec": "1.45 mS/cm"}


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("NO3-N 45 mg/l", "45 mg/L"),
        ("N-NO3 45 mg/l", "45 mg/L"),
        ("Nitratstickstoff 45 mg/l", "45 mg/L"),
        ("azote nitrique 45 mg/l", "45 mg/L"),
        ("nitrógeno nítrico 45 mg/l", "45 mg/L"),
        ("azoto nitrico 45 mg/l", "45 mg/L"),
        ("nitraatstikstof 45 mg/l", "45 mg/L"),
        ("Nitrate (as N) 45 mg/l", "45 mg/L"),
        ("Nitrate 45 mg N/l", "45 mg/L"),
        ("Nitrate 45 mg/l NO3-N", "45 mg/L"),
        ("NO₃⁻ 199 mg/l", "199 mg/L NO3"),
        ("Nitrat 199 mg NO3/l", "199 mg/L NO3"),
        ("Nitrat 3,2 mmol/l", "3,2 mmol/l"),
        ("Nitrate 3.2 mmol L-1", "3.2 mmol/L"),
    ],
)
def test_names_of_nitrate(read, line, value):
    assert [each.value for each in read(line).taken] == [value]


@pytest.mark.parametrize(
    "line",
    [
        "Nitrate 45 mg/l",
        "Ammonium 4 ppm",
        "Fosfaat 12 mg/l",
        "Sodium 45",
        "EC 1200 ppm",
        "Salzgehalt 2,1 g/L KCl",
        "Sodium 45 60 mg/l",
        "Exchangeable sodium 45 mg/l",
        "Natrium 120 mg/l Substrat",
        "Calcium carbonate 2 %",
    ],
)
def test_nothing_is_guessed(read, line):
    report = read(line)
    assert not report.taken
    assert [each.text for each in report.left] == [line]


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("Ammonium-N.........<0.50 mg/L", "<0.50 mg/L"),
        ("Nitrate-N ........ 45.0 mg/L", "45.0 mg/L"),
        ("Potassium..........120 mg/L", "120 mg/L"),
        ("Potassium (K)____ 120 mg/L", "120 mg/L"),
        ("E.C................1.45 dS/m", "1.45 dS/m"),
        ("Sodium 45 mg/L 10...60", "45 mg/L"),
    ],
)
def test_leaders_part_a_name_from_its_figure(read, line, value):
    assert [each.value for each in read(line).taken] == [value]


def test_an_empty_result_is_not_filled_with_its_range(read):
    lines = ["Parameter\tResult\tUnit\tGuide", "Boron\t\tmg/L\t0.3", "Sodium\t88\tmg/L\t40"]
    report = read("\n".join(lines))
    assert [each.value for each in report.taken] == ["88 mg/L"]
    report = read("\n".join(lines).replace("\t\t", "\t").replace("\t", "   "))
    assert [each.value for each in report.taken] == ["88 mg/L"]


@pytest.mark.parametrize(
    ("text", "pointer"),
    [
        ("Water report 2041\nEC 0.9 mS/cm", "/water/ec"),
        ("Wasseruntersuchung, 3. Brunnen\nEC 0,9 mS/cm", "/water/ec"),
        ("Soil report 2041\nPotassium 310 ppm", None),
        ("Soil report 2041\nSaturated paste extract\nSodium 310 ppm", "/medium/ions/sodium"),
        ("Soil report 2041\nSaturated paste extract\nAvailable potassium 310 ppm", None),
        ("Growing media report 2041\nPotassium 310 ppm", "/medium/ions/potassium"),
        ("Water report\nIron 0.2 mg/L", None),
        ("Drain water analysis, slab 4\nSodium 120 mg/L\nEC 3.1 mS/cm", None),
        ("Drainwasseranalyse\nNatrium 120 mg/l\npH 6", None),
        ("Pour-through (drain water)\nSodium 120 mg/L", "/medium/ions/sodium"),
    ],
)
def test_a_title_says_whose_the_figures_are(read, text, pointer):
    found = [each.pointer for each in read(text).taken if "extraction" not in each.pointer]
    assert found == ([pointer] if pointer else [])


@pytest.mark.parametrize(
    "line",
    [
        "Säurekapazität bis pH 4,3 4,9 mmol/l",
        "Säurekapazität bis zum pH 4,3 (KS4,3): 4,9 mmol/l",
        "Säurekapazität KS 4,3 4,9 mmol/l",
        "KS4,3 4,9 mmol/l",
        "Alkalinity to pH 4.5 4,9 mmol/l",
        "Alcalinité (à pH 4,3) 4,9 mmol/l",
    ],
)
def test_the_end_of_a_titration_is_no_figure(read, line):
    report = read(f"Gießwasser\n{line}")
    assert {each.pointer: each.value for each in report.taken} == {
        "/water/alkalinity": "4,9 mmol/l"
    }


@pytest.mark.parametrize(
    ("written", "day"),
    [
        ("14 April 2025", "2025-04-14"),
        ("April 14, 2025", "2025-04-14"),
        ("14-Apr-2025", "2025-04-14"),
        ("14. März 2025", "2025-03-14"),
        ("1er février 2025", "2025-02-01"),
        ("3 de marzo de 2026", "2026-03-03"),
        ("5 marzo 2026", "2026-03-05"),
        ("7 mei 2026", "2026-05-07"),
        ("31 June 2025", None),
        ("April 2025", None),
        ("14 Foo 2025", None),
    ],
)
def test_a_day_with_its_month_by_name(read, written, day):
    found = [each.value for each in read(f"Sampling date: {written}\nEC 1 mS/cm").taken]
    assert found[:-1] == ([day] if day else [])


def test_what_others_aim_at_beside_a_figure_is_not_the_result(read):
    lines = ["EC 1,9 mS/cm streef 1,0", "Sodium 88 ppm (max. 70)", "Chloride 120 mg/L target 60"]
    assert [each.value for each in read("\n".join(lines)).taken] == [
        "1,9 mS/cm",
        "88 ppm",
        "120 mg/L",
    ]
    assert not read("Sodium 88 120 mg/L target 60").taken


def test_per_cent_holds_for_all_of_its_line(read):
    assert not read("Results in ppm\n% of total salts: Na 8.2  Cl 16.1").taken


def test_the_command_reads_a_report(tmp_path):
    from click.testing import CliRunner  # noqa: PLC0415

    from saltcalc.cli import main  # noqa: PLC0415

    told = CliRunner().invoke(main, ["assess", str(REPORTS / "nl_columns.txt")])
    assert told.exit_code == 0
    assert "/medium/ec: 145 mS/m" in told.stderr
    assert "EC" in told.stdout


def test_what_is_drawn_out_with_cat_is_kept_apart(read):
    lines = ["Methode: CAT", "NO3-N 120 mg/l Substrat", "P2O5 90 mg/l", "Mg 80 mg/l", "Na 60 mg/l"]
    report = read("\n".join(lines))
    assert {each.pointer: each.value for each in report.taken} == {
        "/medium/cat/nitrate_n": "120 mg/L",
        "/medium/cat/phosphorus": "90 mg/L P2O5",
        "/medium/cat/magnesium": "80 mg/L",
    }
    assert [each.text for each in report.left] == ["Na 60 mg/l"]
    by_water = read("Nitrat-N 45 mg/l\nMagnesium (CaCl2) 80 mg/l\nKalium (CAT) 90 mg/l")
    assert [each.pointer for each in by_water.taken] == [
        "/medium/ions/nitrate_n",
        "/medium/cat/potassium",
    ]
