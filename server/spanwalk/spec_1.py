"""Values as spec 1 wrote them, choices as their English text: read once more, as codes. Twin: pwa/storage/spec_1.js.

Databases and outboxes of that time hold such values; nothing writes them any more. Frozen: nothing is added here.
"""

from __future__ import annotations

from collections.abc import Mapping

LAST = 1
"""The last spec whose choices were text."""

FIELDS: dict[str, dict[str, tuple[str, ...]]] = {
    "site": {"settings": ("supply_volts", "light_policy", "light_standard", "power_density_code")},
    "room": {
        "identity": ("space_type",),
        "ceiling": ("ceiling", "access", "fire_rated"),
        "hours": ("how_known",),
        "surroundings": ("moisture", "hazardous", "clean_or_food"),
        "progress": ("progress",),
    },
    "kind": {
        "identity": ("alike",),
        "housing": ("body", "material", "magnet_holds", "optic", "optic_state"),
        "lamps": ("fitted", "diameter", "cap", "nominal_ft"),
        "ballast": ("ballast", "pcb_mark", "leaking", "volts_mark"),
        "wiring": ("feeds", "neighbour_leads", "control_pair", "earth"),
    },
    "group": {
        "supply": ("volts", "how_known", "switching", "shared_neutral"),
        "duty": ("emergency", "control_now", "dimming"),
        "differs": ("housing_material",),
        "decision": ("decision",),
    },
    "cavity_reading": {"identity": ("instrument", "graduation"), "confirmed": ("answer",), "set_aside": ("reason",)},
    "trial_bar": {"identity": ("went_in",)},
    "photo": {"identity": ("purpose",)},
    "installation": {"identity": ("checks",)},
    "catalogue_item": {
        "driver": ("current", "output_class", "lead_ends", "dimming", "emergency"),
        "accessory": ("purpose",),
    },
}
"""Fields that held text, by record type and facet."""

CODES: dict[str, str] = {
    "not seen": "not-seen",
    "keep a share of today's light": "keep-a-share-of-todays-light",
    "meet the target of the space": "meet-the-target-of-the-space",
    "EN 12464-1:2021": "en-12464-1-2021",
    "model set-points after IES recommendations, 2019": "model-set-points-after-ies-recommendations-2019",
    "2019 space by space": "2019-space-by-space",
    "2021 space by space": "2021-space-by-space",
    "2022 space by space": "2022-space-by-space",
    "not said": "not-said",
    "office open": "office-open",
    "office enclosed": "office-enclosed",
    "meeting room": "meeting-room",
    "plant room": "plant-room",
    "sports hall": "sports-hall",
    "library reading": "library-reading",
    "patient room": "patient-room",
    "loading dock": "loading-dock",
    "outdoor covered": "outdoor-covered",
    "lay-in grid": "lay-in-grid",
    "concealed grid": "concealed-grid",
    "exposed structure": "exposed-structure",
    "concrete soffit": "concrete-soffit",
    "metal deck": "metal-deck",
    "owner says": "owner-says",
    "nothing to convert": "nothing-to-convert",
    "no access": "no-access",
    "not sure": "not-sure",
    "two makes seen": "two-makes-seen",
    "recessed troffer": "recessed-troffer",
    "surface box": "surface-box",
    "industrial reflector": "industrial-reflector",
    "bare batten": "bare-batten",
    "prismatic lens": "prismatic-lens",
    "opal lens": "opal-lens",
    "parabolic louvre": "parabolic-louvre",
    "LED tube on the ballast": "led-tube-on-the-ballast",
    "LED tube on mains": "led-tube-on-mains",
    "built-in LED": "built-in-led",
    "single pin": "single-pin",
    "recessed contact": "recessed-contact",
    "1.5 ft": "1.5-ft",
    "2 ft": "2-ft",
    "3 ft": "3-ft",
    "4 ft": "4-ft",
    "5 ft": "5-ft",
    "6 ft": "6-ft",
    "8 ft": "8-ft",
    "electronic dimming": "electronic-dimming",
    "no mark": "no-mark",
    "120–277": "120-277",
    "347–480": "347-480",
    "ballast here feeds the neighbour": "ballast-here-feeds-the-neighbour",
    "fed from the neighbour's ballast": "fed-from-the-neighbours-ballast",
    "d.c.": "dc",
    "measured at the panel": "measured-at-the-panel",
    "panel schedule": "panel-schedule",
    "ballast label": "ballast-label",
    "all together": "all-together",
    "two levels": "two-levels",
    "battery in fixture": "battery-in-fixture",
    "generator or inverter": "generator-or-inverter",
    "central battery": "central-battery",
    "0–10 V": "0-10-v",
    "as the kind": "as-the-kind",
    "convert as recommended": "convert-as-recommended",
    "convert with this arrangement": "convert-with-this-arrangement",
    "leave as is": "leave-as-is",
    "tape class I": "tape-class-i",
    "tape class II": "tape-class-ii",
    "tape class III": "tape-class-iii",
    "US tape": "us-tape",
    "gauge goes": "gauge-goes",
    "gauge does not go": "gauge-does-not-go",
    "1/16 in": "1-16-in",
    "1/32 in": "1-32-in",
    "1/64 in": "1-64-in",
    "1 mm": "1-mm",
    "0.5 mm": "0.5-mm",
    "it is what the tape shows": "it-is-what-the-tape-shows",
    "it was read wrong": "it-was-read-wrong",
    "bent pair": "bent-pair",
    "damaged socket": "damaged-socket",
    "went in by hand": "went-in-by-hand",
    "did not go in": "did-not-go-in",
    "whole fixture": "whole-fixture",
    "lamp marking": "lamp-marking",
    "ballast space": "ballast-space",
    "leads removed or capped": "leads-removed-or-capped",
    "sockets proved dead": "sockets-proved-dead",
    "earth checked": "earth-checked",
    "label on": "label-on",
    "shared by the bars": "shared-by-the-bars",
    "for each output": "for-each-output",
    "class 2 / SELV": "class-2-selv",
    "not class 2": "not-class-2",
    "one end": "one-end",
    "both ends": "both-ends",
    "battery pack can be added": "battery-pack-can-be-added",
    "emergency pack": "emergency-pack",
    "occupancy sensor": "occupancy-sensor",
    "daylight sensor": "daylight-sensor",
    "screw clips": "screw-clips",
}
"""The code of each text; a text that is not here is its own code."""

FIGURE_PARTS = {"row": " · ", "figure": "/"}
"""A site's own figure names its row and its place in it by such texts, joined by this."""


FROZEN = {("conversion", "identity"): ("frozen",)}
"""Fields that hold figures frozen for crews, with such texts anywhere in them."""
NAMES = ("panel", "circuit", "second_source", "name", "title", "room", "mark", "note")
"""What people called a thing: left as it is, whatever it says."""


def in_codes(type_name: str, facet: str, value: Mapping[str, object]) -> dict[str, object]:
    """A facet's value with codes where spec 1 wrote text; what holds codes already stays as it is.

    >>> in_codes("kind", "wiring", {"feeds": "not seen", "earth": "seen"})
    {'feeds': 'not-seen', 'earth': 'seen'}
    """
    found = dict(value)
    for name in FIELDS.get(type_name, {}).get(facet, ()):
        if name in found:
            found[name] = _code(found[name])
    for name in FROZEN.get((type_name, facet), ()):
        if name in found:
            found[name] = _deep(found[name])
    if type_name == "figure" and facet == "identity":
        for name, joint in FIGURE_PARTS.items():
            said = found.get(name)
            if isinstance(said, str):
                found[name] = joint.join(CODES.get(part, part) for part in said.split(joint))
    return found


def _deep(value: object, name: str = "") -> object:
    if isinstance(value, dict):
        return {key: _deep(each, key) for key, each in value.items()}
    if isinstance(value, list):
        return [_deep(each, name) for each in value]
    return value if name in NAMES else _code(value)


def _code(value: object) -> object:
    if isinstance(value, list):
        return [_code(each) for each in value]
    return CODES.get(value, value) if isinstance(value, str) else value
