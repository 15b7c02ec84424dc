"""What the records of the spec hold, by type and facet. Made by `spanwalk spec --python`; do not edit.

A field may be missing from each: nothing was entered, or by an older phone.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, NotRequired, Protocol, TypedDict, overload

from spanwalk.rules.record_view import Conflict, Facet, Record

# Any: what a release froze is of its own time; it is read field by field, each of which may be missing.
Frozen = Mapping[str, Any]
"""What a field of type `data` holds."""


class SiteIdentity(TypedDict, total=False):
    """Site: Site."""

    name: str
    note: str


class SiteSettings(TypedDict, total=False):
    """Site: Settings."""

    units: str
    supply_volts: str
    coldest_c: float
    hottest_c: float
    emergency_min: int
    light_policy: str
    keep_light_pct: float
    light_kept: str
    light_ceiling_pct: float
    light_standard: str
    power_density_code: str
    spare_pct: float
    spread_floor_ticks: int
    spring_back_ticks: int
    keep_photo_place: bool
    light_years: int
    region: str
    time_zone: str


class SiteCustomer(TypedDict, total=False):
    """Site: Customer and access."""

    customer: str
    address: str
    contact: str
    contact_phone: str
    access_note: str
    utility_account: str
    utility_meter: str


class SiteCatalogue(TypedDict, total=False):
    """Site: Version of the catalogue."""

    catalogue: str
    sequence: int
    name: str
    left: int


class SiteNotice(TypedDict, total=False):
    """Site: Notice on converted fixtures."""

    firm: str
    call: str
    words: str


class SiteAnyone(TypedDict, total=False):
    """Site: A scan by anyone."""

    shows: list[str]


class SiteProof(TypedDict, total=False):
    """Site: Fields of the rebate pack."""

    rebate_fields: list[str]


class SiteClosing(TypedDict, total=False):
    """Site: Closed and reopened."""

    state: str
    reason: str
    at: str


class SiteLearning(TypedDict, total=False):
    """Site: Numbers of the firm's closed sites."""

    gives: bool
    takes: bool


class SiteLearnt(TypedDict, total=False):
    """Site: Numbers taken from the firm's closed sites."""

    numbers: Frozen
    made_at: str


class SiteFacets(TypedDict, total=False):
    """Facets of site."""

    identity: SiteIdentity
    settings: SiteSettings
    customer: SiteCustomer
    catalogue: SiteCatalogue
    notice: SiteNotice
    anyone: SiteAnyone
    proof: SiteProof
    closing: SiteClosing
    learning: SiteLearning
    learnt: SiteLearnt


class SiteView(TypedDict):
    """A record of type site."""

    id: str
    type: Literal["site"]
    parent: None
    removed: bool
    facets: SiteFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class MoneyIdentity(TypedDict, total=False):
    """Money: Money."""

    currency: str
    tariff_per_kwh: float
    demand_per_kw_month: float
    escalation_pct: float
    discount_pct: float
    study_years: int
    labour_per_h: float
    lift_per_day: float
    ratchet_pct: float
    interactive_pct: float
    rebate_per_fixture: float
    rebate_per_kw: float
    rebate_cap_pct: float
    rebate_cap_application: float
    meter_peak_kw: float
    lamp_waste_each: float
    ballast_waste_each: float
    emission_kg_per_kwh: float
    interactive_kw_pct: float
    heating_pct: float
    heating_per_kwh: float
    heating_kg_per_kwh: float
    lamp_each: float
    lamp_life_h: int
    lamp_change_min: float
    ballast_each: float
    ballast_life_h: int
    ballast_change_min: float
    call_out_each: float
    changes_a_call: float
    mobilisation: float
    permit_sum: float
    permit_pct: float
    crew_people: int
    crew_day_h: float
    travel_h_per_day: float
    travel_per_day: float
    short_lamp_container_each: float
    short_lamp_container_holds: int
    long_lamp_container_each: float
    long_lamp_container_holds: int
    other_lamp_container_each: float
    other_lamp_container_holds: int
    ballast_container_each: float
    ballast_container_holds: int
    pcb_ballast_container_each: float
    pcb_ballast_container_holds: int
    tax_pct: float
    tax_on: str
    parent: str


class MoneyFacets(TypedDict, total=False):
    """Facets of money."""

    identity: MoneyIdentity


class MoneyView(TypedDict):
    """A record of type money."""

    id: str
    type: Literal["money"]
    parent: str
    removed: bool
    facets: MoneyFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class FloorIdentity(TypedDict, total=False):
    """Floor: Floor."""

    name: str
    order: int
    parent: str


class FloorSupply(TypedDict, total=False):
    """Floor: Supply on this floor."""

    volts: str
    how_known: str
    panel: str


class FloorCeiling(TypedDict, total=False):
    """Floor: Ceiling on this floor."""

    ceiling: str
    access: str
    fire_rated: str
    asbestos: str


class FloorSurroundings(TypedDict, total=False):
    """Floor: Surroundings on this floor."""

    moisture: str
    hottest_c: float
    coldest_c: float


class FloorHours(TypedDict, total=False):
    """Floor: Hours on this floor."""

    hours_year: int
    how_known: str


class FloorWorkHours(TypedDict, total=False):
    """Floor: When work is allowed on this floor."""

    days: list[str]
    begins: str
    ends: str


class FloorFacets(TypedDict, total=False):
    """Facets of floor."""

    identity: FloorIdentity
    supply: FloorSupply
    ceiling: FloorCeiling
    surroundings: FloorSurroundings
    hours: FloorHours
    work_hours: FloorWorkHours


class FloorView(TypedDict):
    """A record of type floor."""

    id: str
    type: Literal["floor"]
    parent: str
    removed: bool
    facets: FloorFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class PanelIdentity(TypedDict, total=False):
    """Panel: Panel."""

    name: str
    parent: str


class PanelSupply(TypedDict, total=False):
    """Panel: Supply of this panel."""

    volts: str
    how_known: str


class PanelFacets(TypedDict, total=False):
    """Facets of panel."""

    identity: PanelIdentity
    supply: PanelSupply


class PanelView(TypedDict):
    """A record of type panel."""

    id: str
    type: Literal["panel"]
    parent: str
    removed: bool
    facets: PanelFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class RoomIdentity(TypedDict, total=False):
    """Room: Room."""

    number: str
    name: str
    space_type: str
    parent: str


class RoomSize(TypedDict, total=False):
    """Room: Size."""

    length_ticks: int
    width_ticks: int
    height_ticks: int
    work_plane_ticks: int


class RoomCeiling(TypedDict, total=False):
    """Room: Ceiling."""

    ceiling: str
    access: str
    fire_rated: str
    asbestos: str
    note: str


class RoomSurfaces(TypedDict, total=False):
    """Room: Surfaces."""

    ceiling_pct: int
    walls_pct: int
    floor_pct: int


class RoomLayout(TypedDict, total=False):
    """Room: How the fixtures stand."""

    spread: str
    along: int
    across: int
    direction: str


class RoomTask(TypedDict, total=False):
    """Room: Task area."""

    length_ticks: int
    width_ticks: int
    from_end_ticks: int
    from_side_ticks: int


class RoomHours(TypedDict, total=False):
    """Room: Hours."""

    hours_year: int
    how_known: str


class RoomWorkHours(TypedDict, total=False):
    """Room: When work is allowed."""

    days: list[str]
    begins: str
    ends: str


class RoomSurroundings(TypedDict, total=False):
    """Room: Surroundings."""

    moisture: str
    hazardous: str
    clean_or_food: str
    hottest_c: float
    coldest_c: float


class RoomProgress(TypedDict, total=False):
    """Room: Progress."""

    progress: str
    reason: str


class RoomWalk(TypedDict, total=False):
    """Room: Place in the walk."""

    order: int


class RoomPin(TypedDict, total=False):
    """Room: Place on the floor plan."""

    plan: str
    x: int
    y: int


class RoomFacets(TypedDict, total=False):
    """Facets of room."""

    identity: RoomIdentity
    size: RoomSize
    ceiling: RoomCeiling
    surfaces: RoomSurfaces
    layout: RoomLayout
    task: RoomTask
    hours: RoomHours
    work_hours: RoomWorkHours
    surroundings: RoomSurroundings
    progress: RoomProgress
    walk: RoomWalk
    pin: RoomPin


class RoomView(TypedDict):
    """A record of type room."""

    id: str
    type: Literal["room"]
    parent: str
    removed: bool
    facets: RoomFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class KindIdentity(TypedDict, total=False):
    """Kind: Kind."""

    mark: str
    title: str
    alike: str
    parent: str


class KindHousing(TypedDict, total=False):
    """Kind: Body."""

    body: str
    material: str
    magnet_holds: str
    optic: str
    optic_state: str
    width_ticks: int
    height_ticks: int
    row_spacing_ticks: int


class KindLamps(TypedDict, total=False):
    """Kind: Lamps."""

    fitted: str
    diameter: str
    cap: str
    nominal_ft: str
    lamp_w: float
    rows: int
    lamps_end_to_end: int
    tube_lm: int
    tube_mains_w: float


class KindSpringBack(TypedDict, total=False):
    """Kind: Holders' spring-back, from five pairs."""

    holders: str
    first_ticks: int
    second_ticks: int
    third_ticks: int
    fourth_ticks: int
    fifth_ticks: int
    instrument: str


class KindBallast(TypedDict, total=False):
    """Kind: Ballast."""

    ballast: str
    ballast_count: int
    pcb_mark: str
    made: str
    leaking: str
    volts_mark: str
    energy_class: str
    capacitor: str
    capacitor_made: str


class KindRepeats(TypedDict, total=False):
    """Kind: Second readings."""

    spread_ticks: int
    stands_with: int
    reason: str


class KindBallastSpace(TypedDict, total=False):
    """Kind: Ballast space."""

    length_ticks: int
    width_ticks: int
    height_ticks: int


class KindWiring(TypedDict, total=False):
    """Kind: Wiring."""

    feeds: str
    neighbour_leads: str
    control_pair: str
    earth: str


class KindFacets(TypedDict, total=False):
    """Facets of kind."""

    identity: KindIdentity
    housing: KindHousing
    lamps: KindLamps
    spring_back: KindSpringBack
    ballast: KindBallast
    repeats: KindRepeats
    ballast_space: KindBallastSpace
    wiring: KindWiring


class KindView(TypedDict):
    """A record of type kind."""

    id: str
    type: Literal["kind"]
    parent: str
    removed: bool
    facets: KindFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class GroupIdentity(TypedDict, total=False):
    """Fixture group: Fixture group."""

    kind: str
    note: str
    parent: str


class GroupCount(TypedDict, total=False):
    """Fixture group: Count."""

    count: int
    gone: list[int]
    dark_lamps: int
    sure: str


class GroupSupply(TypedDict, total=False):
    """Fixture group: Supply."""

    volts: str
    how_known: str
    panel: str
    circuit: str
    dc_volts: int
    switching: str
    shared_neutral: str


class GroupDuty(TypedDict, total=False):
    """Fixture group: Emergency and controls."""

    emergency: str
    emergency_positions: list[int]
    battery: str
    old_pack: str
    unswitched_feed: str
    second_source: str
    control_now: str
    control_wanted: str
    dimming: str


class GroupDiffers(TypedDict, total=False):
    """Fixture group: Exceptions."""

    note: str
    housing_material: str


class GroupDecision(TypedDict, total=False):
    """Fixture group: Decision."""

    decision: str
    arrangement: str
    reason: str
    accepts_trial: bool
    accepts_lamp: bool
    how_chosen: str
    accepts_led_tubes: bool


class GroupPin(TypedDict, total=False):
    """Fixture group: Place on the floor plan."""

    plan: str
    x: int
    y: int


class GroupFacets(TypedDict, total=False):
    """Facets of group."""

    identity: GroupIdentity
    count: GroupCount
    supply: GroupSupply
    duty: GroupDuty
    differs: GroupDiffers
    decision: GroupDecision
    pin: GroupPin


class GroupView(TypedDict):
    """A record of type group."""

    id: str
    type: Literal["group"]
    parent: str
    removed: bool
    facets: GroupFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class CavityReadingIdentity(TypedDict, total=False):
    """Cavity reading: Reading."""

    position: int
    row: int
    cavity: int
    length_ticks: int
    as_entered: str
    instrument: str
    graduation: str
    from_hook: bool
    verdict_seen: Frozen
    rules_version: str
    parent: str


class CavityReadingConfirmed(TypedDict, total=False):
    """Cavity reading: Confirmed."""

    answer: str


class CavityReadingSetAside(TypedDict, total=False):
    """Cavity reading: Set aside."""

    reason: str
    note: str


class CavityReadingVoided(TypedDict, total=False):
    """Cavity reading: Voided."""

    reason: str


class CavityReadingFacets(TypedDict, total=False):
    """Facets of cavity_reading."""

    identity: CavityReadingIdentity
    confirmed: CavityReadingConfirmed
    set_aside: CavityReadingSetAside
    voided: CavityReadingVoided


class CavityReadingView(TypedDict):
    """A record of type cavity_reading."""

    id: str
    type: Literal["cavity_reading"]
    parent: str
    removed: bool
    facets: CavityReadingFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class TrialBarIdentity(TypedDict, total=False):
    """Trial bar: Trial bar."""

    position: int
    row: int
    cavity: int
    bar: str
    number: int
    then_bar: str
    then_number: int
    went_in: str
    gap_ticks: int
    parent: str


class TrialBarVoided(TypedDict, total=False):
    """Trial bar: Voided."""

    reason: str


class TrialBarFacets(TypedDict, total=False):
    """Facets of trial_bar."""

    identity: TrialBarIdentity
    voided: TrialBarVoided


class TrialBarView(TypedDict):
    """A record of type trial_bar."""

    id: str
    type: Literal["trial_bar"]
    parent: str
    removed: bool
    facets: TrialBarFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class LuxReadingIdentity(TypedDict, total=False):
    """Lux reading: Lux reading."""

    point: str
    lux: float
    when: str
    instrument: str
    calibrated: str
    lamps: str
    daylight: str
    group: str
    position: int
    read_at: str
    note: str
    parent: str


class LuxReadingFacets(TypedDict, total=False):
    """Facets of lux_reading."""

    identity: LuxReadingIdentity


class LuxReadingView(TypedDict):
    """A record of type lux_reading."""

    id: str
    type: Literal["lux_reading"]
    parent: str
    removed: bool
    facets: LuxReadingFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class PhotoIdentity(TypedDict, total=False):
    """Photo: Photo."""

    subject: str
    purpose: str
    sha256: str
    bytes: int
    width_px: int
    height_px: int
    taken_at: str
    parent: str


class PhotoCaption(TypedDict, total=False):
    """Photo: Caption."""

    caption: str


class PhotoMark(TypedDict, total=False):
    """Photo: Arrow."""

    from_x: int
    from_y: int
    to_x: int
    to_y: int


class PhotoFacets(TypedDict, total=False):
    """Facets of photo."""

    identity: PhotoIdentity
    caption: PhotoCaption
    mark: PhotoMark


class PhotoView(TypedDict):
    """A record of type photo."""

    id: str
    type: Literal["photo"]
    parent: str
    removed: bool
    facets: PhotoFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class LabelIdentity(TypedDict, total=False):
    """Label: Label."""

    code: str
    origin: str
    parent: str


class LabelBinding(TypedDict, total=False):
    """Label: On the fixture."""

    group: str
    position: int


class LabelVoided(TypedDict, total=False):
    """Label: Voided."""

    reason: str


class LabelPrinted(TypedDict, total=False):
    """Label: Printed."""

    at: str


class LabelFacets(TypedDict, total=False):
    """Facets of label."""

    identity: LabelIdentity
    binding: LabelBinding
    voided: LabelVoided
    printed: LabelPrinted


class LabelView(TypedDict):
    """A record of type label."""

    id: str
    type: Literal["label"]
    parent: str
    removed: bool
    facets: LabelFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class EmergencyTestIdentity(TypedDict, total=False):
    """Emergency test: Emergency test."""

    position: int
    conversion: str
    indicator: str
    result: str
    minutes: int
    wanted_min: int
    due_on: str
    note: str
    noted_at: str
    parent: str


class EmergencyTestFacets(TypedDict, total=False):
    """Facets of emergency_test."""

    identity: EmergencyTestIdentity


class EmergencyTestView(TypedDict):
    """A record of type emergency_test."""

    id: str
    type: Literal["emergency_test"]
    parent: str
    removed: bool
    facets: EmergencyTestFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class InstallationIdentity(TypedDict, total=False):
    """Installation: Installation."""

    position: int
    outcome: str
    conversion: str
    fitted: str
    checks: list[str]
    code: str
    problem: str
    noted_at: str
    reason: str
    minutes: int
    helper: str
    helper_person: str
    parent: str


class InstallationAsFitted(TypedDict, total=False):
    """Installation: As fitted."""

    as_released: bool
    items: Frozen
    reason: str
    note: str


class InstallationFacets(TypedDict, total=False):
    """Facets of installation."""

    identity: InstallationIdentity
    as_fitted: InstallationAsFitted


class InstallationView(TypedDict):
    """A record of type installation."""

    id: str
    type: Literal["installation"]
    parent: str
    removed: bool
    facets: InstallationFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class VisitIdentity(TypedDict, total=False):
    """Visit: Visit."""

    position: int
    conversion: str
    begun_at: str
    day: str
    phone: str
    parent: str


class VisitTicks(TypedDict, total=False):
    """Visit: Ticks."""

    checks: list[str]
    steps: list[int]


class VisitFacets(TypedDict, total=False):
    """Facets of visit."""

    identity: VisitIdentity
    ticks: VisitTicks


class VisitView(TypedDict):
    """A record of type visit."""

    id: str
    type: Literal["visit"]
    parent: str
    removed: bool
    facets: VisitFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class QuestionIdentity(TypedDict, total=False):
    """Question: Question."""

    subject: str
    question: str
    parent: str


class QuestionAnswer(TypedDict, total=False):
    """Question: Answer."""

    answer: str


class QuestionFacets(TypedDict, total=False):
    """Facets of question."""

    identity: QuestionIdentity
    answer: QuestionAnswer


class QuestionView(TypedDict):
    """A record of type question."""

    id: str
    type: Literal["question"]
    parent: str
    removed: bool
    facets: QuestionFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class CatalogueItemIdentity(TypedDict, total=False):
    """Catalogue item: Item."""

    item: str
    code: str
    name: str
    offered: bool
    parent: str


class CatalogueItemBar(TypedDict, total=False):
    """Catalogue item: Bar."""

    length_ticks: int
    tolerance_ticks: int
    joint_ticks: int
    end_gap_ticks: int
    width_ticks: int
    height_ticks: int
    cover: str
    lit_ticks: int
    lumens_per_w: float
    rated_ma: int
    most_ma: int
    forward_v: float
    volts_apart: float
    l70_h: int
    rise_k: float
    coldest_c: float
    hottest_c: float
    moisture: str
    fixing: list[str]
    cct_k: int
    cri: int


class CatalogueItemDriver(TypedDict, total=False):
    """Catalogue item: Driver."""

    outputs: int
    bars_per_output: int
    bars_joined: str
    watts: float
    least_watts: float
    volts_min: int
    volts_max: int
    dc: bool
    dc_v_min: int
    dc_v_max: int
    out_v_min: float
    out_v_max: float
    settings_ma: list[int]
    current: str
    set_by: str
    output_class: str
    efficiency_pct: float
    length_ticks: int
    width_ticks: int
    height_ticks: int
    side_gap_ticks: int
    lead_gap_ticks: int
    lead_ends: str
    fixing: list[str]
    hottest_c: float
    coldest_c: float
    rise_k: float
    moisture: str
    dimming: str
    emergency: str
    life_h: int
    life_failed_pct: int


class CatalogueItemAccessory(TypedDict, total=False):
    """Catalogue item: Accessory."""

    purpose: str
    watts: float
    length_ticks: int
    width_ticks: int
    height_ticks: int
    out_v_min: float
    out_v_max: float
    output_w: float
    duration_min: int
    volts_min: int
    volts_max: int
    unswitched_feed: bool
    battery: str
    coldest_c: float
    hottest_c: float
    covers_m2: float
    covers_height_ticks: int
    battery_years: float


class CatalogueItemWiringPart(TypedDict, total=False):
    """Catalogue item: Wiring part."""

    purpose: str
    sold_by: str
    volts_max: int
    hottest_c: float
    used_at: str
    used_number: float


class CatalogueItemSupply(TypedDict, total=False):
    """Catalogue item: Supply."""

    supplier: str
    supplier_number: str
    pack_size: int
    lead_days: int
    listing: str
    warranty_years: float
    note: str


class CatalogueItemRetired(TypedDict, total=False):
    """Catalogue item: Retired."""

    retired: bool
    reason: str
    replaced_by: str


class CatalogueItemTaken(TypedDict, total=False):
    """Catalogue item: Taken from the firm's catalogue."""

    sequence: int


class CatalogueItemRecall(TypedDict, total=False):
    """Catalogue item: Recall."""

    reason: str


class CatalogueItemFacets(TypedDict, total=False):
    """Facets of catalogue_item."""

    identity: CatalogueItemIdentity
    bar: CatalogueItemBar
    driver: CatalogueItemDriver
    accessory: CatalogueItemAccessory
    wiring_part: CatalogueItemWiringPart
    supply: CatalogueItemSupply
    retired: CatalogueItemRetired
    taken: CatalogueItemTaken
    recall: CatalogueItemRecall


class CatalogueItemView(TypedDict):
    """A record of type catalogue_item."""

    id: str
    type: Literal["catalogue_item"]
    parent: str
    removed: bool
    facets: CatalogueItemFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class PriceIdentity(TypedDict, total=False):
    """Price: Price."""

    each: float
    fit_minutes: float
    from_2: int
    each_2: float
    from_3: int
    each_3: float
    from_4: int
    each_4: float
    battery_each: float
    parent: str


class PriceFacets(TypedDict, total=False):
    """Facets of price."""

    identity: PriceIdentity


class PriceView(TypedDict):
    """A record of type price."""

    id: str
    type: Literal["price"]
    parent: str
    removed: bool
    facets: PriceFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class FigureIdentity(TypedDict, total=False):
    """Figure of the site: Which figure."""

    table: str
    row: str
    figure: str
    parent: str


class FigureValue(TypedDict, total=False):
    """Figure of the site: Figure set for this site."""

    value: float
    reason: str
    source: str


class FigureFacets(TypedDict, total=False):
    """Facets of figure."""

    identity: FigureIdentity
    value: FigureValue


class FigureView(TypedDict):
    """A record of type figure."""

    id: str
    type: Literal["figure"]
    parent: str
    removed: bool
    facets: FigureFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ReleaseIdentity(TypedDict, total=False):
    """Release: Release."""

    number: int
    note: str
    made_at: str
    groups: int
    fixtures: int
    head: int
    rules_version: str
    items: Frozen
    catalogue: str
    from_memory_seen: Frozen
    parent: str


class ReleaseWithdrawn(TypedDict, total=False):
    """Release: Withdrawn."""

    reason: str


class ReleaseFacets(TypedDict, total=False):
    """Facets of release."""

    identity: ReleaseIdentity
    withdrawn: ReleaseWithdrawn


class ReleaseView(TypedDict):
    """A record of type release."""

    id: str
    type: Literal["release"]
    parent: str
    removed: bool
    facets: ReleaseFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ReleaseSumsIdentity(TypedDict, total=False):
    """Sums of a release: Sums of a release."""

    group: str
    figures: Frozen
    parent: str


class ReleaseSumsFacets(TypedDict, total=False):
    """Facets of release_sums."""

    identity: ReleaseSumsIdentity


class ReleaseSumsView(TypedDict):
    """A record of type release_sums."""

    id: str
    type: Literal["release_sums"]
    parent: str
    removed: bool
    facets: ReleaseSumsFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ConversionIdentity(TypedDict, total=False):
    """Conversion: Conversion."""

    release: str
    number: int
    arrangement: str
    summary: str
    frozen: Frozen
    facts: Frozen
    parent: str


class ConversionWithdrawn(TypedDict, total=False):
    """Conversion: Withdrawn."""

    reason: str


class ConversionAnswer(TypedDict, total=False):
    """Conversion: Answer to what changed."""

    changes: str
    answer: str


class ConversionFacets(TypedDict, total=False):
    """Facets of conversion."""

    identity: ConversionIdentity
    withdrawn: ConversionWithdrawn
    answer: ConversionAnswer


class ConversionView(TypedDict):
    """A record of type conversion."""

    id: str
    type: Literal["conversion"]
    parent: str
    removed: bool
    facets: ConversionFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ProblemAnswerIdentity(TypedDict, total=False):
    """Answer to a problem: Answer to a problem."""

    answer: str
    words: str
    noted_at: str
    parent: str


class ProblemAnswerFacets(TypedDict, total=False):
    """Facets of problem_answer."""

    identity: ProblemAnswerIdentity


class ProblemAnswerView(TypedDict):
    """A record of type problem_answer."""

    id: str
    type: Literal["problem_answer"]
    parent: str
    removed: bool
    facets: ProblemAnswerFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ProblemReplyIdentity(TypedDict, total=False):
    """Word on a problem: Word on a problem."""

    words: str
    noted_at: str
    parent: str


class ProblemReplyFacets(TypedDict, total=False):
    """Facets of problem_reply."""

    identity: ProblemReplyIdentity


class ProblemReplyView(TypedDict):
    """A record of type problem_reply."""

    id: str
    type: Literal["problem_reply"]
    parent: str
    removed: bool
    facets: ProblemReplyFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class DifferenceAnswerIdentity(TypedDict, total=False):
    """Answer to a difference: Answer to a difference."""

    answer: str
    answers: str
    words: str
    noted_at: str
    parent: str


class DifferenceAnswerFacets(TypedDict, total=False):
    """Facets of difference_answer."""

    identity: DifferenceAnswerIdentity


class DifferenceAnswerView(TypedDict):
    """A record of type difference_answer."""

    id: str
    type: Literal["difference_answer"]
    parent: str
    removed: bool
    facets: DifferenceAnswerFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class PickingIdentity(TypedDict, total=False):
    """Picked for a room: Picked for a room."""

    release: str
    sort: str
    item: str
    wanted: int
    ticked: bool
    short: int
    noted_at: str
    parent: str


class PickingFacets(TypedDict, total=False):
    """Facets of picking."""

    identity: PickingIdentity


class PickingView(TypedDict):
    """A record of type picking."""

    id: str
    type: Literal["picking"]
    parent: str
    removed: bool
    facets: PickingFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class SignOffIdentity(TypedDict, total=False):
    """Sign-off: Sign-off."""

    subject: str
    name: str
    signed_by: str
    fixtures: int
    done: int
    problems: int
    skipped: int
    open: int
    differs: int
    content: str
    noted_at: str
    parent: str


class SignOffFacets(TypedDict, total=False):
    """Facets of sign_off."""

    identity: SignOffIdentity


class SignOffView(TypedDict):
    """A record of type sign_off."""

    id: str
    type: Literal["sign_off"]
    parent: str
    removed: bool
    facets: SignOffFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class AssignmentIdentity(TypedDict, total=False):
    """Room for a day: Room for a day."""

    day: str
    deed: str
    who: str
    person: str
    noted_at: str
    parent: str


class AssignmentFacets(TypedDict, total=False):
    """Facets of assignment."""

    identity: AssignmentIdentity


class AssignmentView(TypedDict):
    """A record of type assignment."""

    id: str
    type: Literal["assignment"]
    parent: str
    removed: bool
    facets: AssignmentFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class OwnRowIdentity(TypedDict, total=False):
    """Row of the site's own: Row of the site's own."""

    table: str
    source: str
    edition: str
    how_known: str
    reason: str
    offered: bool
    parent: str


class OwnRowLamp(TypedDict, total=False):
    """Row of the site's own: Lamp."""

    diameter: str
    nominal_ft: str
    cap: str
    lamp_w: float
    mains: str
    initial_lm: int
    mean_share: float


class OwnRowBallast(TypedDict, total=False):
    """Row of the site's own: Ballast."""

    diameter: str
    nominal_ft: str
    lamp_w: float
    ballast: str
    mains: str
    watts_1: float
    watts_2: float
    watts_3: float
    watts_4: float
    ballast_factor: float


class OwnRowBody(TypedDict, total=False):
    """Row of the site's own: Body."""

    body: str
    optic: str
    tubes_share: float
    bars_share: float
    dirt_share: float
    closed: bool


class OwnRowSpace(TypedDict, total=False):
    """Row of the site's own: Space."""

    space: str
    standard: str
    lux: int
    hours_year: int


class OwnRowFacets(TypedDict, total=False):
    """Facets of own_row."""

    identity: OwnRowIdentity
    lamp: OwnRowLamp
    ballast: OwnRowBallast
    body: OwnRowBody
    space: OwnRowSpace


class OwnRowView(TypedDict):
    """A record of type own_row."""

    id: str
    type: Literal["own_row"]
    parent: str
    removed: bool
    facets: OwnRowFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class PunchPointIdentity(TypedDict, total=False):
    """Punch list point: Punch list point."""

    words: str
    about: str
    group: str
    position: int
    noted_at: str
    parent: str


class PunchPointClosed(TypedDict, total=False):
    """Punch list point: How it was closed."""

    how: str
    words: str
    noted_at: str


class PunchPointFacets(TypedDict, total=False):
    """Facets of punch_point."""

    identity: PunchPointIdentity
    closed: PunchPointClosed


class PunchPointView(TypedDict):
    """A record of type punch_point."""

    id: str
    type: Literal["punch_point"]
    parent: str
    removed: bool
    facets: PunchPointFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class AcceptanceIdentity(TypedDict, total=False):
    """Acceptance: Acceptance."""

    subject: str
    name: str
    signed_by: str
    content: str
    shown: Frozen
    fixtures: int
    done: int
    open: int
    noted_at: str
    parent: str


class AcceptanceFacets(TypedDict, total=False):
    """Facets of acceptance."""

    identity: AcceptanceIdentity


class AcceptanceView(TypedDict):
    """A record of type acceptance."""

    id: str
    type: Literal["acceptance"]
    parent: str
    removed: bool
    facets: AcceptanceFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class AttachmentIdentity(TypedDict, total=False):
    """Attachment: Attachment."""

    sha256: str
    media: str
    bytes: int
    name: str
    purpose: str
    noted_at: str
    parent: str


class AttachmentAbout(TypedDict, total=False):
    """Attachment: About the attachment."""

    number: str
    supplier: str
    dated: str
    note: str


class AttachmentFacets(TypedDict, total=False):
    """Facets of attachment."""

    identity: AttachmentIdentity
    about: AttachmentAbout


class AttachmentView(TypedDict):
    """A record of type attachment."""

    id: str
    type: Literal["attachment"]
    parent: str
    removed: bool
    facets: AttachmentFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class WasteCollectionIdentity(TypedDict, total=False):
    """Waste collected: Waste collected."""

    sort: str
    container: str
    containers: int
    number: int
    broken: int
    kind: str
    collected_on: str
    collected_by: str
    certificate: str
    note: str
    parent: str


class WasteCollectionFacets(TypedDict, total=False):
    """Facets of waste_collection."""

    identity: WasteCollectionIdentity


class WasteCollectionView(TypedDict):
    """A record of type waste_collection."""

    id: str
    type: Literal["waste_collection"]
    parent: str
    removed: bool
    facets: WasteCollectionFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class OrderIdentity(TypedDict, total=False):
    """Order: Order."""

    number: int
    sort: str
    release: str
    against: str
    supplier: str
    made_at: str
    wanted_on: str
    lines: Frozen
    content: str
    note: str
    parent: str


class OrderSent(TypedDict, total=False):
    """Order: Sent to the supplier."""

    sent_on: str
    reference: str
    promised_on: str
    note: str


class OrderCancelled(TypedDict, total=False):
    """Order: Cancelled."""

    reason: str


class OrderFacets(TypedDict, total=False):
    """Facets of order."""

    identity: OrderIdentity
    sent: OrderSent
    cancelled: OrderCancelled


class OrderView(TypedDict):
    """A record of type order."""

    id: str
    type: Literal["order"]
    parent: str
    removed: bool
    facets: OrderFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class OrderPricesIdentity(TypedDict, total=False):
    """Prices of an order: Prices of an order."""

    figures: Frozen
    content: str
    parent: str


class OrderPricesFacets(TypedDict, total=False):
    """Facets of order_prices."""

    identity: OrderPricesIdentity


class OrderPricesView(TypedDict):
    """A record of type order_prices."""

    id: str
    type: Literal["order_prices"]
    parent: str
    removed: bool
    facets: OrderPricesFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class DeliveryIdentity(TypedDict, total=False):
    """What came of an item: Which item of which delivery."""

    item: str
    slip: str
    parent: str


class DeliveryCount(TypedDict, total=False):
    """What came of an item: What came."""

    good: int
    damaged: int
    wrong: int
    short: int
    came_instead: str


class DeliveryNote(TypedDict, total=False):
    """What came of an item: Note on it."""

    note: str


class DeliveryFacets(TypedDict, total=False):
    """Facets of delivery."""

    identity: DeliveryIdentity
    count: DeliveryCount
    note: DeliveryNote


class DeliveryView(TypedDict):
    """A record of type delivery."""

    id: str
    type: Literal["delivery"]
    parent: str
    removed: bool
    facets: DeliveryFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class StockMoveIdentity(TypedDict, total=False):
    """Out of stock or into it: Out of stock or into it."""

    item: str
    move: str
    pieces: int
    order: str
    note: str
    noted_at: str
    parent: str


class StockMoveFacets(TypedDict, total=False):
    """Facets of stock_move."""

    identity: StockMoveIdentity


class StockMoveView(TypedDict):
    """A record of type stock_move."""

    id: str
    type: Literal["stock_move"]
    parent: str
    removed: bool
    facets: StockMoveFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ReservationIdentity(TypedDict, total=False):
    """Kept for a room: Kept for a room."""

    kept: bool
    parent: str


class ReservationFacets(TypedDict, total=False):
    """Facets of reservation."""

    identity: ReservationIdentity


class ReservationView(TypedDict):
    """A record of type reservation."""

    id: str
    type: Literal["reservation"]
    parent: str
    removed: bool
    facets: ReservationFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class OfferIdentity(TypedDict, total=False):
    """Offer: Offer."""

    number: int
    sort: str
    made_at: str
    valid_until: str
    release: str
    against: str
    changes: str
    note: str
    told: Frozen
    content: str
    parent: str


class OfferAnswered(TypedDict, total=False):
    """Offer: Customer's answer."""

    answer: str
    option: str
    answered_on: str
    by_whom: str
    note: str


class OfferFacets(TypedDict, total=False):
    """Facets of offer."""

    identity: OfferIdentity
    answered: OfferAnswered


class OfferView(TypedDict):
    """A record of type offer."""

    id: str
    type: Literal["offer"]
    parent: str
    removed: bool
    facets: OfferFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class OfferLinesIdentity(TypedDict, total=False):
    """Lines of an offer: Lines of an offer."""

    place: int
    lines: Frozen
    parent: str


class OfferLinesFacets(TypedDict, total=False):
    """Facets of offer_lines."""

    identity: OfferLinesIdentity


class OfferLinesView(TypedDict):
    """A record of type offer_lines."""

    id: str
    type: Literal["offer_lines"]
    parent: str
    removed: bool
    facets: OfferLinesFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ProgrammeIdentity(TypedDict, total=False):
    """Rebate programme: Rebate programme."""

    name: str
    asks: list[str]
    note: str
    parent: str


class ProgrammeFacets(TypedDict, total=False):
    """Facets of programme."""

    identity: ProgrammeIdentity


class ProgrammeView(TypedDict):
    """A record of type programme."""

    id: str
    type: Literal["programme"]
    parent: str
    removed: bool
    facets: ProgrammeFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class WalkHoursIdentity(TypedDict, total=False):
    """Hours of the walk: Hours of the walk."""

    hours: float
    note: str
    parent: str


class WalkHoursFacets(TypedDict, total=False):
    """Facets of walk_hours."""

    identity: WalkHoursIdentity


class WalkHoursView(TypedDict):
    """A record of type walk_hours."""

    id: str
    type: Literal["walk_hours"]
    parent: str
    removed: bool
    facets: WalkHoursFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ScenarioIdentity(TypedDict, total=False):
    """What if: What if."""

    name: str
    tariff_per_kwh: float
    escalation_pct: float
    discount_pct: float
    labour_per_h: float
    hours_pct: float
    light_policy: str
    keep_light_pct: float
    budget: float
    without: Frozen
    parent: str


class ScenarioFacets(TypedDict, total=False):
    """Facets of scenario."""

    identity: ScenarioIdentity


class ScenarioView(TypedDict):
    """A record of type scenario."""

    id: str
    type: Literal["scenario"]
    parent: str
    removed: bool
    facets: ScenarioFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class FailureIdentity(TypedDict, total=False):
    """Failure: Failure."""

    position: int
    sign: str
    item: str
    serials: str
    hours: int
    code: str
    note: str
    noted_at: str
    parent: str


class FailureReplaced(TypedDict, total=False):
    """Failure: What was done."""

    how: str
    item: str
    serials: str
    number: int
    on: str
    note: str


class FailureClaim(TypedDict, total=False):
    """Failure: Claim."""

    state: str
    reference: str
    on: str
    note: str


class FailureFacets(TypedDict, total=False):
    """Facets of failure."""

    identity: FailureIdentity
    replaced: FailureReplaced
    claim: FailureClaim


class FailureView(TypedDict):
    """A record of type failure."""

    id: str
    type: Literal["failure"]
    parent: str
    removed: bool
    facets: FailureFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class ClaimStepIdentity(TypedDict, total=False):
    """Step of a claim: Step of a claim."""

    state: str
    on: str
    by: str
    reference: str
    note: str
    attachment: str
    noted_at: str
    parent: str


class ClaimStepFacets(TypedDict, total=False):
    """Facets of claim_step."""

    identity: ClaimStepIdentity


class ClaimStepView(TypedDict):
    """A record of type claim_step."""

    id: str
    type: Literal["claim_step"]
    parent: str
    removed: bool
    facets: ClaimStepFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class FunctionTestIdentity(TypedDict, total=False):
    """Function test of emergency lighting: Function test."""

    position: int
    result: str
    on: str
    note: str
    noted_at: str
    parent: str


class FunctionTestFacets(TypedDict, total=False):
    """Facets of function_test."""

    identity: FunctionTestIdentity


class FunctionTestView(TypedDict):
    """A record of type function_test."""

    id: str
    type: Literal["function_test"]
    parent: str
    removed: bool
    facets: FunctionTestFacets
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]


class OfType(Protocol):
    """Records of a type."""

    @overload
    def __call__(self, type_name: Literal["site"]) -> list[SiteView]: ...
    @overload
    def __call__(self, type_name: Literal["money"]) -> list[MoneyView]: ...
    @overload
    def __call__(self, type_name: Literal["floor"]) -> list[FloorView]: ...
    @overload
    def __call__(self, type_name: Literal["panel"]) -> list[PanelView]: ...
    @overload
    def __call__(self, type_name: Literal["room"]) -> list[RoomView]: ...
    @overload
    def __call__(self, type_name: Literal["kind"]) -> list[KindView]: ...
    @overload
    def __call__(self, type_name: Literal["group"]) -> list[GroupView]: ...
    @overload
    def __call__(self, type_name: Literal["cavity_reading"]) -> list[CavityReadingView]: ...
    @overload
    def __call__(self, type_name: Literal["trial_bar"]) -> list[TrialBarView]: ...
    @overload
    def __call__(self, type_name: Literal["lux_reading"]) -> list[LuxReadingView]: ...
    @overload
    def __call__(self, type_name: Literal["photo"]) -> list[PhotoView]: ...
    @overload
    def __call__(self, type_name: Literal["label"]) -> list[LabelView]: ...
    @overload
    def __call__(self, type_name: Literal["emergency_test"]) -> list[EmergencyTestView]: ...
    @overload
    def __call__(self, type_name: Literal["installation"]) -> list[InstallationView]: ...
    @overload
    def __call__(self, type_name: Literal["visit"]) -> list[VisitView]: ...
    @overload
    def __call__(self, type_name: Literal["question"]) -> list[QuestionView]: ...
    @overload
    def __call__(self, type_name: Literal["catalogue_item"]) -> list[CatalogueItemView]: ...
    @overload
    def __call__(self, type_name: Literal["price"]) -> list[PriceView]: ...
    @overload
    def __call__(self, type_name: Literal["figure"]) -> list[FigureView]: ...
    @overload
    def __call__(self, type_name: Literal["release"]) -> list[ReleaseView]: ...
    @overload
    def __call__(self, type_name: Literal["release_sums"]) -> list[ReleaseSumsView]: ...
    @overload
    def __call__(self, type_name: Literal["conversion"]) -> list[ConversionView]: ...
    @overload
    def __call__(self, type_name: Literal["problem_answer"]) -> list[ProblemAnswerView]: ...
    @overload
    def __call__(self, type_name: Literal["problem_reply"]) -> list[ProblemReplyView]: ...
    @overload
    def __call__(self, type_name: Literal["difference_answer"]) -> list[DifferenceAnswerView]: ...
    @overload
    def __call__(self, type_name: Literal["picking"]) -> list[PickingView]: ...
    @overload
    def __call__(self, type_name: Literal["sign_off"]) -> list[SignOffView]: ...
    @overload
    def __call__(self, type_name: Literal["assignment"]) -> list[AssignmentView]: ...
    @overload
    def __call__(self, type_name: Literal["own_row"]) -> list[OwnRowView]: ...
    @overload
    def __call__(self, type_name: Literal["punch_point"]) -> list[PunchPointView]: ...
    @overload
    def __call__(self, type_name: Literal["acceptance"]) -> list[AcceptanceView]: ...
    @overload
    def __call__(self, type_name: Literal["attachment"]) -> list[AttachmentView]: ...
    @overload
    def __call__(self, type_name: Literal["waste_collection"]) -> list[WasteCollectionView]: ...
    @overload
    def __call__(self, type_name: Literal["order"]) -> list[OrderView]: ...
    @overload
    def __call__(self, type_name: Literal["order_prices"]) -> list[OrderPricesView]: ...
    @overload
    def __call__(self, type_name: Literal["delivery"]) -> list[DeliveryView]: ...
    @overload
    def __call__(self, type_name: Literal["stock_move"]) -> list[StockMoveView]: ...
    @overload
    def __call__(self, type_name: Literal["reservation"]) -> list[ReservationView]: ...
    @overload
    def __call__(self, type_name: Literal["offer"]) -> list[OfferView]: ...
    @overload
    def __call__(self, type_name: Literal["offer_lines"]) -> list[OfferLinesView]: ...
    @overload
    def __call__(self, type_name: Literal["programme"]) -> list[ProgrammeView]: ...
    @overload
    def __call__(self, type_name: Literal["walk_hours"]) -> list[WalkHoursView]: ...
    @overload
    def __call__(self, type_name: Literal["scenario"]) -> list[ScenarioView]: ...
    @overload
    def __call__(self, type_name: Literal["failure"]) -> list[FailureView]: ...
    @overload
    def __call__(self, type_name: Literal["claim_step"]) -> list[ClaimStepView]: ...
    @overload
    def __call__(self, type_name: Literal["function_test"]) -> list[FunctionTestView]: ...


class Children(Protocol):
    """Records of a type whose parent it is; of whatever type where none is said."""

    @overload
    def __call__(self, record: Record, type_name: Literal["site"]) -> list[SiteView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["money"]) -> list[MoneyView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["floor"]) -> list[FloorView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["panel"]) -> list[PanelView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["room"]) -> list[RoomView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["kind"]) -> list[KindView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["group"]) -> list[GroupView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["cavity_reading"]) -> list[CavityReadingView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["trial_bar"]) -> list[TrialBarView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["lux_reading"]) -> list[LuxReadingView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["photo"]) -> list[PhotoView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["label"]) -> list[LabelView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["emergency_test"]) -> list[EmergencyTestView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["installation"]) -> list[InstallationView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["visit"]) -> list[VisitView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["question"]) -> list[QuestionView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["catalogue_item"]) -> list[CatalogueItemView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["price"]) -> list[PriceView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["figure"]) -> list[FigureView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["release"]) -> list[ReleaseView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["release_sums"]) -> list[ReleaseSumsView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["conversion"]) -> list[ConversionView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["problem_answer"]) -> list[ProblemAnswerView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["problem_reply"]) -> list[ProblemReplyView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["difference_answer"]) -> list[DifferenceAnswerView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["picking"]) -> list[PickingView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["sign_off"]) -> list[SignOffView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["assignment"]) -> list[AssignmentView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["own_row"]) -> list[OwnRowView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["punch_point"]) -> list[PunchPointView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["acceptance"]) -> list[AcceptanceView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["attachment"]) -> list[AttachmentView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["waste_collection"]) -> list[WasteCollectionView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["order"]) -> list[OrderView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["order_prices"]) -> list[OrderPricesView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["delivery"]) -> list[DeliveryView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["stock_move"]) -> list[StockMoveView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["reservation"]) -> list[ReservationView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["offer"]) -> list[OfferView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["offer_lines"]) -> list[OfferLinesView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["programme"]) -> list[ProgrammeView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["walk_hours"]) -> list[WalkHoursView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["scenario"]) -> list[ScenarioView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["failure"]) -> list[FailureView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["claim_step"]) -> list[ClaimStepView]: ...
    @overload
    def __call__(self, record: Record, type_name: Literal["function_test"]) -> list[FunctionTestView]: ...
    @overload
    def __call__(self, record: Record) -> list[Record]: ...


@overload
def facet(record: SiteView, name: Literal["identity"]) -> SiteIdentity: ...
@overload
def facet(record: SiteView, name: Literal["settings"]) -> SiteSettings: ...
@overload
def facet(record: SiteView, name: Literal["customer"]) -> SiteCustomer: ...
@overload
def facet(record: SiteView, name: Literal["catalogue"]) -> SiteCatalogue: ...
@overload
def facet(record: SiteView, name: Literal["notice"]) -> SiteNotice: ...
@overload
def facet(record: SiteView, name: Literal["anyone"]) -> SiteAnyone: ...
@overload
def facet(record: SiteView, name: Literal["proof"]) -> SiteProof: ...
@overload
def facet(record: SiteView, name: Literal["closing"]) -> SiteClosing: ...
@overload
def facet(record: SiteView, name: Literal["learning"]) -> SiteLearning: ...
@overload
def facet(record: SiteView, name: Literal["learnt"]) -> SiteLearnt: ...
@overload
def facet(record: MoneyView, name: Literal["identity"]) -> MoneyIdentity: ...
@overload
def facet(record: FloorView, name: Literal["identity"]) -> FloorIdentity: ...
@overload
def facet(record: FloorView, name: Literal["supply"]) -> FloorSupply: ...
@overload
def facet(record: FloorView, name: Literal["ceiling"]) -> FloorCeiling: ...
@overload
def facet(record: FloorView, name: Literal["surroundings"]) -> FloorSurroundings: ...
@overload
def facet(record: FloorView, name: Literal["hours"]) -> FloorHours: ...
@overload
def facet(record: FloorView, name: Literal["work_hours"]) -> FloorWorkHours: ...
@overload
def facet(record: PanelView, name: Literal["identity"]) -> PanelIdentity: ...
@overload
def facet(record: PanelView, name: Literal["supply"]) -> PanelSupply: ...
@overload
def facet(record: RoomView, name: Literal["identity"]) -> RoomIdentity: ...
@overload
def facet(record: RoomView, name: Literal["size"]) -> RoomSize: ...
@overload
def facet(record: RoomView, name: Literal["ceiling"]) -> RoomCeiling: ...
@overload
def facet(record: RoomView, name: Literal["surfaces"]) -> RoomSurfaces: ...
@overload
def facet(record: RoomView, name: Literal["layout"]) -> RoomLayout: ...
@overload
def facet(record: RoomView, name: Literal["task"]) -> RoomTask: ...
@overload
def facet(record: RoomView, name: Literal["hours"]) -> RoomHours: ...
@overload
def facet(record: RoomView, name: Literal["work_hours"]) -> RoomWorkHours: ...
@overload
def facet(record: RoomView, name: Literal["surroundings"]) -> RoomSurroundings: ...
@overload
def facet(record: RoomView, name: Literal["progress"]) -> RoomProgress: ...
@overload
def facet(record: RoomView, name: Literal["walk"]) -> RoomWalk: ...
@overload
def facet(record: RoomView, name: Literal["pin"]) -> RoomPin: ...
@overload
def facet(record: KindView, name: Literal["identity"]) -> KindIdentity: ...
@overload
def facet(record: KindView, name: Literal["housing"]) -> KindHousing: ...
@overload
def facet(record: KindView, name: Literal["lamps"]) -> KindLamps: ...
@overload
def facet(record: KindView, name: Literal["spring_back"]) -> KindSpringBack: ...
@overload
def facet(record: KindView, name: Literal["ballast"]) -> KindBallast: ...
@overload
def facet(record: KindView, name: Literal["repeats"]) -> KindRepeats: ...
@overload
def facet(record: KindView, name: Literal["ballast_space"]) -> KindBallastSpace: ...
@overload
def facet(record: KindView, name: Literal["wiring"]) -> KindWiring: ...
@overload
def facet(record: GroupView, name: Literal["identity"]) -> GroupIdentity: ...
@overload
def facet(record: GroupView, name: Literal["count"]) -> GroupCount: ...
@overload
def facet(record: GroupView, name: Literal["supply"]) -> GroupSupply: ...
@overload
def facet(record: GroupView, name: Literal["duty"]) -> GroupDuty: ...
@overload
def facet(record: GroupView, name: Literal["differs"]) -> GroupDiffers: ...
@overload
def facet(record: GroupView, name: Literal["decision"]) -> GroupDecision: ...
@overload
def facet(record: GroupView, name: Literal["pin"]) -> GroupPin: ...
@overload
def facet(record: CavityReadingView, name: Literal["identity"]) -> CavityReadingIdentity: ...
@overload
def facet(record: CavityReadingView, name: Literal["confirmed"]) -> CavityReadingConfirmed: ...
@overload
def facet(record: CavityReadingView, name: Literal["set_aside"]) -> CavityReadingSetAside: ...
@overload
def facet(record: CavityReadingView, name: Literal["voided"]) -> CavityReadingVoided: ...
@overload
def facet(record: TrialBarView, name: Literal["identity"]) -> TrialBarIdentity: ...
@overload
def facet(record: TrialBarView, name: Literal["voided"]) -> TrialBarVoided: ...
@overload
def facet(record: LuxReadingView, name: Literal["identity"]) -> LuxReadingIdentity: ...
@overload
def facet(record: PhotoView, name: Literal["identity"]) -> PhotoIdentity: ...
@overload
def facet(record: PhotoView, name: Literal["caption"]) -> PhotoCaption: ...
@overload
def facet(record: PhotoView, name: Literal["mark"]) -> PhotoMark: ...
@overload
def facet(record: LabelView, name: Literal["identity"]) -> LabelIdentity: ...
@overload
def facet(record: LabelView, name: Literal["binding"]) -> LabelBinding: ...
@overload
def facet(record: LabelView, name: Literal["voided"]) -> LabelVoided: ...
@overload
def facet(record: LabelView, name: Literal["printed"]) -> LabelPrinted: ...
@overload
def facet(record: EmergencyTestView, name: Literal["identity"]) -> EmergencyTestIdentity: ...
@overload
def facet(record: InstallationView, name: Literal["identity"]) -> InstallationIdentity: ...
@overload
def facet(record: InstallationView, name: Literal["as_fitted"]) -> InstallationAsFitted: ...
@overload
def facet(record: VisitView, name: Literal["identity"]) -> VisitIdentity: ...
@overload
def facet(record: VisitView, name: Literal["ticks"]) -> VisitTicks: ...
@overload
def facet(record: QuestionView, name: Literal["identity"]) -> QuestionIdentity: ...
@overload
def facet(record: QuestionView, name: Literal["answer"]) -> QuestionAnswer: ...
@overload
def facet(record: CatalogueItemView, name: Literal["identity"]) -> CatalogueItemIdentity: ...
@overload
def facet(record: CatalogueItemView, name: Literal["bar"]) -> CatalogueItemBar: ...
@overload
def facet(record: CatalogueItemView, name: Literal["driver"]) -> CatalogueItemDriver: ...
@overload
def facet(record: CatalogueItemView, name: Literal["accessory"]) -> CatalogueItemAccessory: ...
@overload
def facet(record: CatalogueItemView, name: Literal["wiring_part"]) -> CatalogueItemWiringPart: ...
@overload
def facet(record: CatalogueItemView, name: Literal["supply"]) -> CatalogueItemSupply: ...
@overload
def facet(record: CatalogueItemView, name: Literal["retired"]) -> CatalogueItemRetired: ...
@overload
def facet(record: CatalogueItemView, name: Literal["taken"]) -> CatalogueItemTaken: ...
@overload
def facet(record: CatalogueItemView, name: Literal["recall"]) -> CatalogueItemRecall: ...
@overload
def facet(record: PriceView, name: Literal["identity"]) -> PriceIdentity: ...
@overload
def facet(record: FigureView, name: Literal["identity"]) -> FigureIdentity: ...
@overload
def facet(record: FigureView, name: Literal["value"]) -> FigureValue: ...
@overload
def facet(record: ReleaseView, name: Literal["identity"]) -> ReleaseIdentity: ...
@overload
def facet(record: ReleaseView, name: Literal["withdrawn"]) -> ReleaseWithdrawn: ...
@overload
def facet(record: ReleaseSumsView, name: Literal["identity"]) -> ReleaseSumsIdentity: ...
@overload
def facet(record: ConversionView, name: Literal["identity"]) -> ConversionIdentity: ...
@overload
def facet(record: ConversionView, name: Literal["withdrawn"]) -> ConversionWithdrawn: ...
@overload
def facet(record: ConversionView, name: Literal["answer"]) -> ConversionAnswer: ...
@overload
def facet(record: ProblemAnswerView, name: Literal["identity"]) -> ProblemAnswerIdentity: ...
@overload
def facet(record: ProblemReplyView, name: Literal["identity"]) -> ProblemReplyIdentity: ...
@overload
def facet(record: DifferenceAnswerView, name: Literal["identity"]) -> DifferenceAnswerIdentity: ...
@overload
def facet(record: PickingView, name: Literal["identity"]) -> PickingIdentity: ...
@overload
def facet(record: SignOffView, name: Literal["identity"]) -> SignOffIdentity: ...
@overload
def facet(record: AssignmentView, name: Literal["identity"]) -> AssignmentIdentity: ...
@overload
def facet(record: OwnRowView, name: Literal["identity"]) -> OwnRowIdentity: ...
@overload
def facet(record: OwnRowView, name: Literal["lamp"]) -> OwnRowLamp: ...
@overload
def facet(record: OwnRowView, name: Literal["ballast"]) -> OwnRowBallast: ...
@overload
def facet(record: OwnRowView, name: Literal["body"]) -> OwnRowBody: ...
@overload
def facet(record: OwnRowView, name: Literal["space"]) -> OwnRowSpace: ...
@overload
def facet(record: PunchPointView, name: Literal["identity"]) -> PunchPointIdentity: ...
@overload
def facet(record: PunchPointView, name: Literal["closed"]) -> PunchPointClosed: ...
@overload
def facet(record: AcceptanceView, name: Literal["identity"]) -> AcceptanceIdentity: ...
@overload
def facet(record: AttachmentView, name: Literal["identity"]) -> AttachmentIdentity: ...
@overload
def facet(record: AttachmentView, name: Literal["about"]) -> AttachmentAbout: ...
@overload
def facet(record: WasteCollectionView, name: Literal["identity"]) -> WasteCollectionIdentity: ...
@overload
def facet(record: OrderView, name: Literal["identity"]) -> OrderIdentity: ...
@overload
def facet(record: OrderView, name: Literal["sent"]) -> OrderSent: ...
@overload
def facet(record: OrderView, name: Literal["cancelled"]) -> OrderCancelled: ...
@overload
def facet(record: OrderPricesView, name: Literal["identity"]) -> OrderPricesIdentity: ...
@overload
def facet(record: DeliveryView, name: Literal["identity"]) -> DeliveryIdentity: ...
@overload
def facet(record: DeliveryView, name: Literal["count"]) -> DeliveryCount: ...
@overload
def facet(record: DeliveryView, name: Literal["note"]) -> DeliveryNote: ...
@overload
def facet(record: StockMoveView, name: Literal["identity"]) -> StockMoveIdentity: ...
@overload
def facet(record: ReservationView, name: Literal["identity"]) -> ReservationIdentity: ...
@overload
def facet(record: OfferView, name: Literal["identity"]) -> OfferIdentity: ...
@overload
def facet(record: OfferView, name: Literal["answered"]) -> OfferAnswered: ...
@overload
def facet(record: OfferLinesView, name: Literal["identity"]) -> OfferLinesIdentity: ...
@overload
def facet(record: ProgrammeView, name: Literal["identity"]) -> ProgrammeIdentity: ...
@overload
def facet(record: WalkHoursView, name: Literal["identity"]) -> WalkHoursIdentity: ...
@overload
def facet(record: ScenarioView, name: Literal["identity"]) -> ScenarioIdentity: ...
@overload
def facet(record: FailureView, name: Literal["identity"]) -> FailureIdentity: ...
@overload
def facet(record: FailureView, name: Literal["replaced"]) -> FailureReplaced: ...
@overload
def facet(record: FailureView, name: Literal["claim"]) -> FailureClaim: ...
@overload
def facet(record: ClaimStepView, name: Literal["identity"]) -> ClaimStepIdentity: ...
@overload
def facet(record: FunctionTestView, name: Literal["identity"]) -> FunctionTestIdentity: ...
@overload
def facet(record: Record | None, name: str) -> Facet: ...
def facet(record: Record | None, name: str) -> object:
    """A facet's value; empty where nothing was entered."""
    return record["facets"].get(name, {}) if record is not None else {}
