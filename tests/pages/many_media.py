"""Trials of many media, invented: mixes of a polytunnel on an estuary, and how crops fared."""

import random

PARTS = {
    "en": ("reused coir", "sieved green-waste compost", "composted bark", "peat from the bag"),
    "de": (
        "Wiederverwendetes Kokosfasersubstrat",
        "Grünschnittkompost gesiebt",
        "Rindenhumus",
        "Torfkultursubstrat",
    ),
}
WHERE = {
    "en": "tunnel {0}, tub {1}, lot {2}",
    "de": "Wanne {1}, Folientunnel {0}, Charge {2}",
}
CROPS = ("bean", "beetroot", "lettuce", "spinach", "cucumber", "radish", "pea", "leek")
TOUGH = ("beetroot", "spinach")
LONGEST = 100


def trial(media, language="en", crops=3, *, chance=False):
    """Return the request of a trial whose outcomes follow the salt, or are left to chance."""
    seeded = random.Random(media)
    return {
        "language": language,
        "media": [_medium(seeded, place, language, crops, chance) for place in range(media)],
        "containers": [{"volume": "11 L", "drainage": "open"}],
        "trial": {"weeks": 5},
    }


def _medium(seeded, place, language, crops, chance):
    first, second = (PARTS.get(language, PARTS["de"])[at % 4] for at in (place, place // 4 + 1))
    ec, nitrogen = seeded.uniform(0.3, 4.5), seeded.choice((5, 20, 60, 150, 280))
    medium = {"extraction": "SME", "ec": round(ec, 2), "ph": round(seeded.uniform(4.6, 7.9), 1)}
    if place % 3:
        medium["mineral_n"] = f"{nitrogen} mg/L"
    if place % 2:
        medium["ions"] = {
            "sodium": f"{seeded.choice((10, 60, 200, 400))} mg/L",
            "chloride": f"{seeded.choice((15, 90, 300, 600))} mg/L",
            "potassium": f"{seeded.choice((20, 150, 400))} mg/L",
        }
    outcomes = []
    for crop in CROPS[:crops]:
        limit = 4.0 if crop in TOUGH else 2.2
        poor = "pale" if place % 3 and nitrogen < 50 else "thrived"
        fared = "died" if ec > 1.6 * limit else "stunted" if ec > limit else poor
        if chance:
            fared = seeded.choice(("died", "stunted", "pale", "slow", "thrived", "thrived"))
        outcomes.append({"crop": crop, "outcome": fared})
    where = WHERE.get(language, WHERE["de"]).format(place % 3 + 1, place + 1, 100 + place)
    name = f"{first} + {second}, {where}"
    return {"name": name[:LONGEST], "medium": medium, "outcomes": outcomes}
