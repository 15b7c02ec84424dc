"""Made from spec/rules.json by `python -m spanwalk.records.made_rules`: do not edit. Twin: pwa/rules/constants.js."""

ACCEPTED = ("accepts_trial", "accepts_lamp", "accepts_led_tubes")
AGE_FROM = (1980, 1995, 2010)
ALONE_TICKS = 960
AS_RELEASED = "as-released"
BASES = ("lamp", "sample", "all")
BY_NAME = "convert-with-this-arrangement"
BY_SURVEY = (
    "plan.blocked.hazardous-not-seen",
    "plan.blocked.neighbour-leads-not-seen",
    "plan.blocked.neighbour-not-found",
    "plan.blocked.fed-not-found",
    "plan.blocked.neighbour-several",
    "plan.blocked.neighbour-counts",
    "plan.blocked.neighbour-lamps",
    "plan.bar-fixing.cannot-tell",
    "plan.bar-moisture.cannot-tell",
    "plan.bar-heat.cannot-tell",
    "plan.bar-cold.cannot-tell",
    "plan.driver.cold.cannot-tell",
    "plan.driver.moisture.cannot-tell",
    "plan.driver.temperature.cannot-tell",
    "plan.driver.dimming.cannot-tell",
    "plan.driver.dimmer.cannot-tell",
    "plan.light.cannot-tell",
)
CEILING_FROM_FLOOR = ("ceiling.ceiling", "ceiling.access", "ceiling.fire_rated", "ceiling.asbestos")
CHECKS_OF_ALL = ("leads-removed-or-capped", "sockets-proved-dead", "earth-checked", "label-on")
CLEAR_CAPACITOR_FROM = 1990
CLUSTER_LEAST = 2
CODE_LENGTH = 8
CODE_PATH = "/F/"
CODE_SYMBOLS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
DECIMAL_STEPS = 10000
DEFAULT_GRADUATION = "1-16-in"
DEGREES = ("fits", "by-trial", "by-lamp", "so-far", "tight", "cannot-tell", "too-long", "never")
DIMS = (
    "dimming",
    "personal-tuning",
    "institutional-tuning",
    "daylight",
    "occupancy-and-daylight",
)
DIRECT = "dc"
DONE_AGAIN = "sent-back"
ENDS_VISITS = ("done", "not-done-after-all")
FIRST_READINGS = 3
FNV_OFFSETS = (2166136261, 2538058380)
FNV_PRIME = 16777619
GAP_READ_TICKS = 320
GAP_TO_RANGE = 2
GAUGE_CAPS = ("G5", "G13")
HOURS_FROM_FLOOR = ("hours.hours_year.how_known",)
HUNDRED_MM_TICKS = 32000
INCH_TICKS = 8128
IN_FORCE = "in force"
JUDGED_OF_BALLASTS = ("ballast", "pcb_mark", "made", "capacitor", "capacitor_made")
LAST_PLACE = 1000000
LEAST_FIXTURES = 3
LEAST_GAP_TICKS = 640
LEAST_LIT_PCT = 80
LOOK = "look"
MIDDLE_SOCKETS_TICKS = 19200
MINUTES_AN_HOUR = 60
MOISTURE = ("dry", "damp", "wet")
MOISTURE_FROM_FLOOR = ("surroundings.moisture",)
MOST_BARS = 4
MOST_CHARACTERS = 60
MOST_MORE = 100
MOST_PLAIN_INCHES = 240
MOST_ROWS = 5000
MOST_TICKS = 6400000
NEVER = ("plan.not.between-sockets", "plan.not.too-long")
NEW_RELEASE = "new-release"
NEXT_STEP_FROM = 2
NOMINAL_SLACK_TICKS = 640
NOTHING_SAID = "nothing-said"
NOTHING_TO_CONVERT = ("built-in-led", "none")
NOT_BETWEEN_SOCKETS = ("circular", "compact", "U-bend")
NOT_SEEN = "not-seen"
ONE_IN = 20
ONE_SIDED_95_THOUSANDTHS = 1645
OTHERS_LEAST = 3
OUT_OF_BAND = ("reading.out-of-band", "reading.out-of-loose-band")
OVER_TICKS = 960
OWN_DEGREES = 7
PANEL_FROM_FLOOR = ("supply.panel",)
PCB_UNTIL_YEAR = 1998
PER_CENT = 100
PER_KELVIN = 10000000
PROOF_HOLDS_MINUTES = 240
PROVING_STEPS = (
    "plan.step.isolate",
    "plan.step.isolate-second",
    "plan.step.prove-dead",
    "plan.step.prove-dead-second",
    "plan.step.prove-dead-battery",
    "plan.step.close-and-restore",
    "plan.step.restore",
    "plan.step.prove-sockets",
)
RANGES_ON_LABELS = ("120-277", "347-480")
RELEASED_SINCE = "released-since"
ROOM_DONE = ("surveyed", "nothing-to-convert")
RULES_VERSION = "9"
SAID_BY_RULES = (
    "plan.blocked.nothing-judged",
    "plan.blocked.nothing-passes",
    "plan.blocked.no-count",
    "plan.blocked.conflict",
    "plan.blocked.reading-alone",
    "plan.blocked.reading-questioned",
    "plan.blocked.lot-refused",
    "plan.blocked.repeats-spread",
    "plan.blocked.by-lamp",
    "plan.blocked.no-volts",
    "plan.blocked.emergency-not-seen",
    "plan.blocked.emergency-position-not-there",
    "plan.blocked.second-source-not-named",
    "plan.blocked.feeds-not-seen",
    "plan.blocked.lamps-not-seen",
    "plan.blocked.partner",
    "plan.blocked.partner-not-released",
    "plan.partner.cannot-tell",
    "plan.fit-tight.cannot-tell",
    "plan.fit-trial.cannot-tell",
    "plan.fit-unread.cannot-tell",
    "plan.driver.space.cannot-tell",
    "plan.driver.volts.cannot-tell",
    "plan.driver.emergency.cannot-tell",
    "plan.emergency-positions.cannot-tell",
)
SECOND_SOURCE = ("generator-or-inverter", "central-battery")
SHORTEST_UNDER_TENTHS_MM = 24
SIDES = ("length_ticks", "width_ticks", "height_ticks")
SILENT_COLDEST_C = 0
SILENT_HOTTEST_C = 35
STAYS = (
    "conversion",
    "installation",
    "visit",
    "emergency_test",
    "failure",
    "function_test",
    "punch_point",
)
STOP = "stop"
SUPERSEDED = "superseded"
SURELY_DIMS = ("dimming", "personal-tuning", "institutional-tuning")
TAKEN_BACK = "not-done-after-all"
TEN_THOUSANDTHS = 10000
TICKS_PER_64TH_INCH = 127
TICKS_PER_FOOT = 97536
TICKS_PER_INCH = 8128
TICKS_PER_METRE = 320000
TICKS_PER_MM = 320
TICKS_PER_TENTH_MM = 32
TOO_LONG = ("8-ft",)
TO_DO = "do-it-so"
UNANSWERED = "unanswered"
VERDICTS = ("fits", "tight", "cannot tell", "too long")
VOLTS_50_HZ = ("230", "400")
VOLTS_60_HZ = ("120", "208", "277", "347", "480", "120-277", "347-480")
VOLTS_FROM_ABOVE = ("supply.volts.how_known",)
WAITS = ("unanswered", "wait", "new-release")
WARMTH_FROM_FLOOR = ("surroundings.hottest_c", "surroundings.coldest_c")
WENT_IN = "went-in-by-hand"
WITHDRAWN = "withdrawn"
WITH_THIS = "convert-with-this-arrangement"
WORK_HOURS_FROM_FLOOR = ("work_hours.days", "work_hours.begins.ends")
