// Made from spec/records.json by `spanwalk spec --types`. Do not edit.

export type SiteFacets = {
  identity?: {
    name: string;
    note?: string;
  };
  settings?: {
    units: "inches" | "millimetres";
    supply_volts?: "not-seen" | "120" | "208" | "230" | "240" | "277" | "347" | "400" | "480";
    coldest_c?: number;
    hottest_c?: number;
    emergency_min?: number;
    light_policy?: "keep-a-share-of-todays-light" | "meet-the-target-of-the-space";
    keep_light_pct?: number;
    light_kept?: "as-found" | "all-lamps-burning";
    light_ceiling_pct?: number;
    light_standard?: "en-12464-1-2021" | "model-set-points-after-ies-recommendations-2019" | "us-federal-41-cfr-102-74-180";
    power_density_code?: "none" | "2019-space-by-space" | "2021-space-by-space" | "2022-space-by-space";
    spare_pct?: number;
    spread_floor_ticks?: number;
    spring_back_ticks?: number;
    keep_photo_place?: boolean;
    light_years?: number;
    region?: "not-said" | "united-states-or-canada" | "european-union-or-uk" | "elsewhere";
    time_zone?: string;
  };
  customer?: {
    customer?: string;
    address?: string;
    contact?: string;
    contact_phone?: string;
    access_note?: string;
    utility_account?: string;
    utility_meter?: string;
  };
  catalogue?: {
    catalogue: string;
    sequence: number;
    name: string;
    left?: number;
  };
  notice?: {
    firm?: string;
    call?: string;
    words?: string;
  };
  anyone?: {
    shows?: ("what-it-is-now" | "what-fits" | "takes-no-lamps" | "whom-to-call" | "since-when")[];
  };
  proof?: {
    rebate_fields?: ("existing-watts" | "existing-source" | "new-watts" | "hours" | "hours-known" | "listing" | "items" | "labels" | "photos" | "day" | "saved")[];
  };
  closing?: {
    state: "closed" | "reopened";
    reason?: string;
    at?: string;
  };
  learning?: {
    gives?: boolean;
    takes?: boolean;
  };
  learnt?: {
    numbers: unknown;
    made_at?: string;
  };
};

export type MoneyFacets = {
  identity?: {
    parent: string;
    currency: string;
    tariff_per_kwh?: number;
    demand_per_kw_month?: number;
    escalation_pct?: number;
    discount_pct?: number;
    study_years?: number;
    labour_per_h?: number;
    lift_per_day?: number;
    ratchet_pct?: number;
    interactive_pct?: number;
    rebate_per_fixture?: number;
    rebate_per_kw?: number;
    rebate_cap_pct?: number;
    rebate_cap_application?: number;
    meter_peak_kw?: number;
    lamp_waste_each?: number;
    ballast_waste_each?: number;
    emission_kg_per_kwh?: number;
    interactive_kw_pct?: number;
    heating_pct?: number;
    heating_per_kwh?: number;
    heating_kg_per_kwh?: number;
    lamp_each?: number;
    lamp_life_h?: number;
    lamp_change_min?: number;
    ballast_each?: number;
    ballast_life_h?: number;
    ballast_change_min?: number;
    call_out_each?: number;
    changes_a_call?: number;
    mobilisation?: number;
    permit_sum?: number;
    permit_pct?: number;
    crew_people?: number;
    crew_day_h?: number;
    travel_h_per_day?: number;
    travel_per_day?: number;
    short_lamp_container_each?: number;
    short_lamp_container_holds?: number;
    long_lamp_container_each?: number;
    long_lamp_container_holds?: number;
    other_lamp_container_each?: number;
    other_lamp_container_holds?: number;
    ballast_container_each?: number;
    ballast_container_holds?: number;
    pcb_ballast_container_each?: number;
    pcb_ballast_container_holds?: number;
    tax_pct?: number;
    tax_on?: "materials" | "materials-and-labour" | "all-costs";
  };
};

export type FloorFacets = {
  identity?: {
    parent: string;
    name: string;
    order?: number;
  };
  supply?: {
    volts?: "not-seen" | "120" | "208" | "230" | "240" | "277" | "347" | "400" | "480";
    how_known?: "not-said" | "measured-at-the-panel" | "panel-schedule" | "ballast-label";
    panel?: string;
  };
  ceiling?: {
    ceiling?: "not-seen" | "lay-in-grid" | "concealed-grid" | "plasterboard" | "exposed-structure" | "concrete-soffit" | "metal-deck" | "other";
    access?: "not-seen" | "reach" | "ladder" | "platform" | "blocked";
    fire_rated?: "not-seen" | "yes" | "no";
    asbestos?: "not-seen" | "none-by-the-register" | "may-hold-asbestos";
  };
  surroundings?: {
    moisture?: "not-seen" | "dry" | "damp" | "wet";
    hottest_c?: number;
    coldest_c?: number;
  };
  hours?: {
    hours_year?: number;
    how_known?: "assumed" | "owner-says" | "logged";
  };
  work_hours?: {
    days?: ("monday" | "tuesday" | "wednesday" | "thursday" | "friday" | "saturday" | "sunday")[];
    begins?: string;
    ends?: string;
  };
};

export type PanelFacets = {
  identity?: {
    parent: string;
    name: string;
  };
  supply?: {
    volts?: "not-seen" | "120" | "208" | "230" | "240" | "277" | "347" | "400" | "480";
    how_known?: "not-said" | "measured-at-the-panel" | "panel-schedule" | "ballast-label";
  };
};

export type RoomFacets = {
  identity?: {
    parent: string;
    number?: string;
    name?: string;
    space_type?: "not-said" | "office-open" | "office-enclosed" | "classroom" | "laboratory" | "corridor" | "stair" | "lobby" | "meeting-room" | "restroom" | "storage" | "kitchen" | "dining" | "workshop" | "plant-room" | "warehouse" | "sports-hall" | "library-reading" | "sales" | "patient-room" | "loading-dock" | "parking" | "outdoor-covered" | "other";
  };
  size?: {
    length_ticks?: number;
    width_ticks?: number;
    height_ticks?: number;
    work_plane_ticks?: number;
  };
  ceiling?: {
    ceiling?: "not-seen" | "lay-in-grid" | "concealed-grid" | "plasterboard" | "exposed-structure" | "concrete-soffit" | "metal-deck" | "other";
    access?: "not-seen" | "reach" | "ladder" | "platform" | "blocked";
    fire_rated?: "not-seen" | "yes" | "no";
    asbestos?: "not-seen" | "none-by-the-register" | "may-hold-asbestos";
    note?: string;
  };
  surfaces?: {
    ceiling_pct?: number;
    walls_pct?: number;
    floor_pct?: number;
  };
  layout?: {
    spread?: "not-seen" | "evenly-spread" | "not-evenly-spread";
    along?: number;
    across?: number;
    direction?: "not-seen" | "along-the-length" | "along-the-width";
  };
  task?: {
    length_ticks: number;
    width_ticks: number;
    from_end_ticks?: number;
    from_side_ticks?: number;
  };
  hours?: {
    hours_year?: number;
    how_known?: "assumed" | "owner-says" | "logged";
  };
  work_hours?: {
    days?: ("monday" | "tuesday" | "wednesday" | "thursday" | "friday" | "saturday" | "sunday")[];
    begins?: string;
    ends?: string;
  };
  surroundings?: {
    moisture?: "not-seen" | "dry" | "damp" | "wet";
    hazardous?: "not-seen" | "yes" | "no";
    clean_or_food?: "not-seen" | "yes" | "no";
    hottest_c?: number;
    coldest_c?: number;
  };
  progress?: {
    progress: "open" | "surveyed" | "nothing-to-convert" | "no-access";
    reason?: string;
  };
  walk?: {
    order?: number;
  };
  pin?: {
    plan: string;
    x: number;
    y: number;
  };
};

export type KindFacets = {
  identity?: {
    parent: string;
    mark: string;
    title?: string;
    alike?: "not-sure" | "yes" | "two-makes-seen";
  };
  housing?: {
    body?: "recessed-troffer" | "surface-box" | "strip" | "wrap" | "industrial-reflector" | "vapour-tight" | "cove" | "bare-batten" | "other";
    material?: "not-seen" | "steel" | "aluminium" | "plastic" | "other";
    magnet_holds?: "not-seen" | "yes" | "no";
    optic?: "not-seen" | "none" | "prismatic-lens" | "opal-lens" | "louvre" | "parabolic-louvre" | "basket" | "reflector";
    optic_state?: "not-seen" | "good" | "yellowed" | "broken";
    width_ticks?: number;
    height_ticks?: number;
    row_spacing_ticks?: number;
  };
  lamps?: {
    fitted?: "not-seen" | "fluorescent" | "led-tube-on-the-ballast" | "led-tube-on-mains" | "built-in-led" | "none" | "led-tube-on-own-driver";
    diameter?: "not-seen" | "T5" | "T8" | "T12";
    cap?: "not-seen" | "G5" | "G13" | "single-pin" | "recessed-contact" | "U-bend" | "circular" | "compact";
    nominal_ft?: "not-seen" | "1.5-ft" | "2-ft" | "3-ft" | "4-ft" | "5-ft" | "6-ft" | "8-ft";
    lamp_w?: number;
    rows?: number;
    lamps_end_to_end?: number;
    tube_lm?: number;
    tube_mains_w?: number;
  };
  spring_back?: {
    holders?: "not-seen" | "rigid" | "sprung";
    first_ticks?: number;
    second_ticks?: number;
    third_ticks?: number;
    fourth_ticks?: number;
    fifth_ticks?: number;
    instrument?: "tape" | "steel-rule" | "feeler-gauges" | "caliper";
  };
  ballast?: {
    ballast?: "not-seen" | "magnetic" | "electronic" | "electronic-dimming" | "none";
    ballast_count?: number;
    pcb_mark?: "not-seen" | "marked" | "no-mark";
    made?: string;
    leaking?: "not-seen" | "yes" | "no";
    volts_mark?: "not-seen" | "120" | "230" | "277" | "120-277" | "347" | "347-480" | "other";
    energy_class?: "not-seen" | "D" | "C" | "B2" | "B1" | "A3" | "A2" | "A1";
    capacitor?: "not-seen" | "none" | "seen";
    capacitor_made?: string;
  };
  repeats?: {
    spread_ticks?: number;
    stands_with?: number;
    reason?: string;
  };
  ballast_space?: {
    length_ticks?: number;
    width_ticks?: number;
    height_ticks?: number;
  };
  wiring?: {
    feeds?: "not-seen" | "one" | "two" | "more";
    neighbour_leads?: "not-seen" | "none" | "ballast-here-feeds-the-neighbour" | "fed-from-the-neighbours-ballast";
    control_pair?: "not-seen" | "yes" | "no";
    earth?: "not-seen" | "seen" | "missing";
  };
};

export type GroupFacets = {
  identity?: {
    parent: string;
    kind: string;
    note?: string;
  };
  count?: {
    count: number;
    gone?: number[];
    dark_lamps?: number;
    sure?: "yes" | "doubtful";
  };
  supply?: {
    volts?: "not-seen" | "120" | "208" | "230" | "240" | "277" | "347" | "400" | "480" | "dc";
    how_known?: "not-said" | "measured-at-the-panel" | "panel-schedule" | "ballast-label";
    panel?: string;
    circuit?: string;
    dc_volts?: number;
    switching?: "not-seen" | "all-together" | "two-levels" | "more";
    shared_neutral?: "not-seen" | "yes" | "no";
  };
  duty?: {
    emergency?: "not-seen" | "none" | "battery-in-fixture" | "generator-or-inverter" | "central-battery";
    emergency_positions?: number[];
    battery?: "not-seen" | "nickel-cadmium" | "nickel-metal-hydride" | "sealed-lead" | "lithium" | "other";
    old_pack?: string;
    unswitched_feed?: "not-seen" | "yes" | "no";
    second_source?: string;
    control_now?: "not-seen" | "switch" | "occupancy" | "daylight" | "dimming" | "personal-tuning" | "institutional-tuning" | "occupancy-and-daylight";
    control_wanted?: "none" | "occupancy" | "daylight" | "dimming" | "personal-tuning" | "institutional-tuning" | "occupancy-and-daylight";
    dimming?: "not-seen" | "none" | "0-10-v" | "other" | "phase-cut" | "dali-2" | "wireless";
  };
  differs?: {
    note?: string;
    housing_material?: "as-the-kind" | "steel" | "aluminium" | "plastic";
  };
  decision?: {
    decision: "convert-as-recommended" | "convert-with-this-arrangement" | "leave-as-is" | "defer";
    arrangement?: string;
    reason?: string;
    accepts_trial?: boolean;
    accepts_lamp?: boolean;
    how_chosen?: "best-order" | "by-rule";
    accepts_led_tubes?: boolean;
  };
  pin?: {
    plan: string;
    x: number;
    y: number;
  };
};

export type CavityReadingFacets = {
  identity?: {
    parent: string;
    position: number;
    row: number;
    cavity: number;
    length_ticks: number;
    as_entered: string;
    instrument: "tape-class-i" | "tape-class-ii" | "tape-class-iii" | "us-tape" | "gauge-goes" | "gauge-does-not-go";
    graduation?: "1-16-in" | "1-32-in" | "1-64-in" | "1-mm" | "0.5-mm";
    from_hook?: boolean;
    verdict_seen?: VerdictSeen;
    rules_version?: string;
  };
  confirmed?: {
    answer: "it-is-what-the-tape-shows" | "it-was-read-wrong";
  };
  set_aside?: {
    reason: "bent-pair" | "damaged-socket" | "other";
    note?: string;
  };
  voided?: {
    reason: string;
  };
};

export type TrialBarFacets = {
  identity?: {
    parent: string;
    position: number;
    row: number;
    cavity: number;
    bar: string;
    number?: number;
    then_bar?: string;
    then_number?: number;
    went_in: "went-in-by-hand" | "did-not-go-in";
    gap_ticks?: number;
  };
  voided?: {
    reason: string;
  };
};

export type LuxReadingFacets = {
  identity?: {
    parent: string;
    point: string;
    lux: number;
    when: "before" | "after";
    instrument?: string;
    calibrated?: string;
    lamps?: "on-for-30-minutes-or-more" | "on-for-less";
    daylight?: "dark-outside" | "blinds-shut" | "measured-and-subtracted" | "not-excluded" | "no-windows";
    group?: string;
    position?: number;
    read_at?: string;
    note?: string;
  };
};

export type PhotoFacets = {
  identity?: {
    parent: string;
    subject: string;
    purpose: "whole-fixture" | "lamp-marking" | "ballast-label" | "ballast-space" | "sockets" | "room" | "panel" | "after" | "problem" | "other" | "damage" | "floor-plan" | "signature";
    sha256: string;
    bytes?: number;
    width_px?: number;
    height_px?: number;
    taken_at?: string;
  };
  caption?: {
    caption?: string;
  };
  mark?: {
    from_x: number;
    from_y: number;
    to_x: number;
    to_y: number;
  };
};

export type LabelFacets = {
  identity?: {
    parent: string;
    code: string;
    origin: "printed" | "pre-printed";
  };
  binding?: {
    group: string;
    position: number;
  };
  voided?: {
    reason: string;
  };
  printed?: {
    at: string;
  };
};

export type EmergencyTestFacets = {
  identity?: {
    parent: string;
    position: number;
    conversion?: string;
    indicator: "seen" | "not-seen" | "has-none";
    result: "passed" | "failed" | "still-due";
    minutes?: number;
    wanted_min?: number;
    due_on?: string;
    note?: string;
    noted_at?: string;
  };
};

export type InstallationFacets = {
  identity?: {
    parent: string;
    position: number;
    outcome: "done" | "problem" | "skipped" | "not-done-after-all";
    conversion?: string;
    fitted?: string;
    checks?: ("leads-removed-or-capped" | "sockets-proved-dead" | "earth-checked" | "label-on" | "old-battery-out" | "unswitched-feed-on" | "pack-charges" | "second-source-proved-dead")[];
    code?: string;
    problem?: string;
    noted_at?: string;
    reason?: "bar-does-not-go-in" | "sockets-damaged" | "body-damaged" | "earth-missing" | "still-live" | "wiring-differs" | "other-lamps-or-ballast" | "ballast-leaks" | "suspect-ceiling" | "wet" | "part-missing" | "part-faulty" | "no-access" | "room-in-use" | "wrong-fixture" | "ticked-by-mistake" | "taken-out-again" | "fails-since" | "other";
    minutes?: number;
    helper?: string;
    helper_person?: string;
  };
  as_fitted?: {
    as_released: boolean;
    items?: unknown;
    reason?: "none-left" | "part-damaged" | "did-not-fit" | "other-part-delivered" | "setting-not-possible" | "agreed-on-site" | "body-differs" | "other";
    note?: string;
  };
};

export type VisitFacets = {
  identity?: {
    parent: string;
    position: number;
    conversion: string;
    begun_at: string;
    day: string;
    phone?: string;
  };
  ticks?: {
    checks?: ("leads-removed-or-capped" | "sockets-proved-dead" | "earth-checked" | "label-on" | "old-battery-out" | "unswitched-feed-on" | "pack-charges" | "second-source-proved-dead")[];
    steps?: number[];
  };
};

export type QuestionFacets = {
  identity?: {
    parent: string;
    subject: string;
    question: string;
  };
  answer?: {
    answer: string;
  };
};

export type CatalogueItemFacets = {
  identity?: {
    parent: string;
    item: "bar" | "driver" | "accessory" | "wiring-part";
    code: string;
    name?: string;
    offered?: boolean;
  };
  bar?: {
    length_ticks: number;
    tolerance_ticks: number;
    joint_ticks: number;
    end_gap_ticks: number;
    width_ticks: number;
    height_ticks: number;
    cover: "none" | "polycarbonate" | "acrylic";
    lit_ticks: number;
    lumens_per_w: number;
    rated_ma: number;
    most_ma: number;
    forward_v: number;
    volts_apart?: number;
    l70_h: number;
    rise_k: number;
    coldest_c?: number;
    hottest_c?: number;
    moisture: "dry" | "damp" | "wet";
    fixing: ("magnets" | "screws" | "clips")[];
    cct_k?: number;
    cri?: number;
  };
  driver?: {
    outputs: number;
    bars_per_output?: number;
    bars_joined?: "not-said" | "in-series" | "in-parallel";
    watts: number;
    least_watts: number;
    volts_min: number;
    volts_max: number;
    dc?: boolean;
    dc_v_min?: number;
    dc_v_max?: number;
    out_v_min: number;
    out_v_max: number;
    settings_ma: number[];
    current: "shared-by-the-bars" | "for-each-output";
    set_by?: "not-said" | "dip-switches" | "resistor-plug" | "programming-tool" | "output-chosen" | "fixed";
    output_class: "class-2-selv" | "not-class-2";
    efficiency_pct: number;
    length_ticks: number;
    width_ticks: number;
    height_ticks: number;
    side_gap_ticks: number;
    lead_gap_ticks: number;
    lead_ends: "one-end" | "both-ends";
    fixing?: ("magnets" | "screws" | "bracket")[];
    hottest_c: number;
    coldest_c?: number;
    rise_k: number;
    moisture: "dry" | "damp" | "wet";
    dimming: "none" | "0-10-v" | "phase-cut" | "dali-2" | "wireless";
    emergency: "none" | "battery-pack-can-be-added";
    life_h?: number;
    life_failed_pct?: number;
  };
  accessory?: {
    purpose: "emergency-pack" | "occupancy-sensor" | "daylight-sensor" | "screw-clips" | "lens" | "other";
    watts?: number;
    length_ticks?: number;
    width_ticks?: number;
    height_ticks?: number;
    out_v_min?: number;
    out_v_max?: number;
    output_w?: number;
    duration_min?: number;
    volts_min?: number;
    volts_max?: number;
    unswitched_feed?: boolean;
    battery?: "not-said" | "nickel-cadmium" | "nickel-metal-hydride" | "sealed-lead" | "lithium" | "other";
    coldest_c?: number;
    hottest_c?: number;
    covers_m2?: number;
    covers_height_ticks?: number;
    battery_years?: number;
  };
  wiring_part?: {
    purpose: "wire" | "connector" | "junction-box" | "strain-relief" | "fuse" | "label-or-marker" | "other";
    sold_by?: "piece" | "metre" | "foot";
    volts_max?: number;
    hottest_c?: number;
    used_at?: "each-fixture" | "each-driver" | "each-supply-lead" | "each-bar-lead" | "each-capped-lead";
    used_number?: number;
  };
  supply?: {
    supplier?: string;
    supplier_number?: string;
    pack_size?: number;
    lead_days?: number;
    listing?: string;
    warranty_years?: number;
    note?: string;
  };
  retired?: {
    retired: boolean;
    reason?: string;
    replaced_by?: string;
  };
  taken?: {
    sequence: number;
  };
  recall?: {
    reason: string;
  };
};

export type PriceFacets = {
  identity?: {
    parent: string;
    each: number;
    fit_minutes?: number;
    from_2?: number;
    each_2?: number;
    from_3?: number;
    each_3?: number;
    from_4?: number;
    each_4?: number;
    battery_each?: number;
  };
};

export type FigureFacets = {
  identity?: {
    parent: string;
    table: string;
    row: string;
    figure: string;
  };
  value?: {
    value: number;
    reason: string;
    source?: string;
  };
};

export type ReleaseFacets = {
  identity?: {
    parent: string;
    number: number;
    note?: string;
    made_at: string;
    groups?: number;
    fixtures?: number;
    head?: number;
    rules_version?: string;
    items?: Record<string, FrozenItem>;
    catalogue?: string;
    from_memory_seen?: unknown;
  };
  withdrawn?: {
    reason: string;
  };
};

export type ReleaseSumsFacets = {
  identity?: {
    parent: string;
    group?: string;
    figures: unknown;
  };
};

export type ConversionFacets = {
  identity?: {
    parent: string;
    release: string;
    number: number;
    arrangement: string;
    summary?: string;
    frozen?: Card;
    facts?: FrozenFacts;
  };
  withdrawn?: {
    reason: string;
  };
  answer?: {
    changes: string;
    answer: string;
  };
};

export type ProblemAnswerFacets = {
  identity?: {
    parent: string;
    answer: "do-it-so" | "skip" | "new-release" | "wait";
    words?: string;
    noted_at?: string;
  };
};

export type ProblemReplyFacets = {
  identity?: {
    parent: string;
    words: string;
    noted_at?: string;
  };
};

export type DifferenceAnswerFacets = {
  identity?: {
    parent: string;
    answer: "accepted" | "sent-back";
    answers: string;
    words?: string;
    noted_at?: string;
  };
};

export type PickingFacets = {
  identity?: {
    parent: string;
    release: string;
    sort: "bar" | "driver" | "accessory" | "emergency-pack" | "cap" | "label" | "lamps-out" | "ballasts-out" | "batteries-out";
    item?: string;
    wanted?: number;
    ticked: boolean;
    short?: number;
    noted_at?: string;
  };
};

export type SignOffFacets = {
  identity?: {
    parent: string;
    subject: string;
    name: string;
    signed_by: "drawn-signature" | "typed-name";
    fixtures: number;
    done: number;
    problems?: number;
    skipped?: number;
    open?: number;
    differs?: number;
    content: string;
    noted_at?: string;
  };
};

export type AssignmentFacets = {
  identity?: {
    parent: string;
    day: string;
    deed: "assigned" | "taken" | "given-back";
    who: string;
    person?: string;
    noted_at?: string;
  };
};

export type OwnRowFacets = {
  identity?: {
    parent: string;
    table: "lamp" | "ballast" | "body" | "space";
    source: string;
    edition?: string;
    how_known: "read" | "measured" | "from-memory";
    reason?: string;
    offered?: boolean;
  };
  lamp?: {
    diameter: "T5" | "T8" | "T12";
    nominal_ft: "1.5-ft" | "2-ft" | "3-ft" | "4-ft" | "5-ft" | "6-ft" | "8-ft";
    cap: "G5" | "G13" | "single-pin" | "recessed-contact";
    lamp_w: number;
    mains: "60-hz" | "50-hz" | "both";
    initial_lm: number;
    mean_share: number;
  };
  ballast?: {
    diameter: "T5" | "T8" | "T12";
    nominal_ft: "1.5-ft" | "2-ft" | "3-ft" | "4-ft" | "5-ft" | "6-ft" | "8-ft";
    lamp_w: number;
    ballast: "magnetic" | "electronic" | "electronic-dimming";
    mains: "60-hz" | "50-hz" | "both";
    watts_1?: number;
    watts_2?: number;
    watts_3?: number;
    watts_4?: number;
    ballast_factor: number;
  };
  body?: {
    body: "recessed-troffer" | "surface-box" | "strip" | "wrap" | "industrial-reflector" | "vapour-tight" | "cove" | "bare-batten" | "other";
    optic: "none" | "prismatic-lens" | "opal-lens" | "louvre" | "parabolic-louvre" | "basket" | "reflector";
    tubes_share: number;
    bars_share: number;
    dirt_share: number;
    closed?: boolean;
  };
  space?: {
    space: "office-open" | "office-enclosed" | "classroom" | "laboratory" | "corridor" | "stair" | "lobby" | "meeting-room" | "restroom" | "storage" | "kitchen" | "dining" | "workshop" | "plant-room" | "warehouse" | "sports-hall" | "library-reading" | "sales" | "patient-room" | "loading-dock" | "parking" | "outdoor-covered" | "other";
    standard?: "en-12464-1-2021" | "us-federal-41-cfr-102-74-180";
    lux?: number;
    hours_year?: number;
  };
};

export type PunchPointFacets = {
  identity?: {
    parent: string;
    words?: string;
    about?: string;
    group?: string;
    position?: number;
    noted_at?: string;
  };
  closed?: {
    how: "made-good" | "left-as-agreed";
    words?: string;
    noted_at?: string;
  };
};

export type AcceptanceFacets = {
  identity?: {
    parent: string;
    subject: string;
    name: string;
    signed_by: "drawn-signature" | "typed-name";
    content: string;
    shown: unknown;
    fixtures?: number;
    done?: number;
    open?: number;
    noted_at?: string;
  };
};

export type AttachmentFacets = {
  identity?: {
    parent: string;
    sha256: string;
    media: "pdf" | "jpeg" | "png";
    bytes?: number;
    name: string;
    purpose: "invoice" | "certificate" | "data-sheet" | "other" | "claim-letter";
    noted_at?: string;
  };
  about?: {
    number?: string;
    supplier?: string;
    dated?: string;
    note?: string;
  };
};

export type WasteCollectionFacets = {
  identity?: {
    parent: string;
    sort: "lamps-out" | "ballasts-out" | "batteries-out";
    container?: string;
    containers?: number;
    number?: number;
    broken?: number;
    kind?: string;
    collected_on: string;
    collected_by: string;
    certificate?: string;
    note?: string;
  };
};

export type OrderFacets = {
  identity?: {
    parent: string;
    number: number;
    sort: "first-order" | "change-order";
    release: string;
    against?: string;
    supplier?: string;
    made_at: string;
    wanted_on?: string;
    lines: unknown;
    content: string;
    note?: string;
  };
  sent?: {
    sent_on: string;
    reference?: string;
    promised_on?: string;
    note?: string;
  };
  cancelled?: {
    reason: string;
  };
};

export type OrderPricesFacets = {
  identity?: {
    parent: string;
    figures: unknown;
    content: string;
  };
};

export type DeliveryFacets = {
  identity?: {
    parent: string;
    item: string;
    slip: string;
  };
  count?: {
    good: number;
    damaged?: number;
    wrong?: number;
    short?: number;
    came_instead?: string;
  };
  note?: {
    note: string;
  };
};

export type StockMoveFacets = {
  identity?: {
    parent: string;
    item: string;
    move: "returned-to-supplier" | "damaged-sent-back" | "lost-or-broken" | "taken-elsewhere" | "brought-from-elsewhere";
    pieces: number;
    order?: string;
    note?: string;
    noted_at?: string;
  };
};

export type ReservationFacets = {
  identity?: {
    parent: string;
    kept: boolean;
  };
};

export type OfferFacets = {
  identity?: {
    parent: string;
    number: number;
    sort: "customer-offer" | "change-order";
    made_at: string;
    valid_until?: string;
    release?: string;
    against?: string;
    changes?: string;
    note?: string;
    told: unknown;
    content: string;
  };
  answered?: {
    answer: "accepted" | "refused";
    option?: "as-offered" | "least-to-pay-now" | "as-released";
    answered_on: string;
    by_whom: string;
    note?: string;
  };
};

export type OfferLinesFacets = {
  identity?: {
    parent: string;
    place: number;
    lines: unknown;
  };
};

export type ProgrammeFacets = {
  identity?: {
    parent: string;
    name: string;
    asks: ("asks-customer" | "asks-address" | "asks-contact" | "asks-account" | "asks-meter" | "asks-firm" | "asks-areas" | "asks-fixtures" | "asks-lamps-now" | "asks-watts-now" | "asks-items" | "asks-watts-then" | "asks-hours-a-year" | "asks-kwh-saved" | "asks-kw-saved" | "asks-price" | "asks-rebate-asked" | "asks-disposal" | "asks-listing")[];
    note?: string;
  };
};

export type WalkHoursFacets = {
  identity?: {
    parent: string;
    hours: number;
    note?: string;
  };
};

export type ScenarioFacets = {
  identity?: {
    parent: string;
    name: string;
    tariff_per_kwh?: number;
    escalation_pct?: number;
    discount_pct?: number;
    labour_per_h?: number;
    hours_pct?: number;
    light_policy?: "keep-a-share-of-todays-light" | "meet-the-target-of-the-space";
    keep_light_pct?: number;
    budget?: number;
    without?: unknown;
  };
};

export type FailureFacets = {
  identity?: {
    parent: string;
    position: number;
    sign: "dark" | "flickers" | "dimmer" | "noise" | "hot-or-smells" | "emergency-fails" | "loose" | "other-failure";
    item?: string;
    serials?: string;
    hours?: number;
    code?: string;
    note?: string;
    noted_at?: string;
  };
  replaced?: {
    how: "from-spares" | "under-warranty" | "bought" | "repaired" | "nothing-wrong";
    item?: string;
    serials?: string;
    number?: number;
    on?: string;
    note?: string;
  };
  claim?: {
    state: "claim-sent" | "claim-accepted" | "claim-refused";
    reference?: string;
    on?: string;
    note?: string;
  };
};

export type ClaimStepFacets = {
  identity?: {
    parent: string;
    state: "claim-sent" | "claim-accepted" | "claim-refused" | "claim-replaced" | "claim-closed";
    on: string;
    by?: string;
    reference?: string;
    note?: string;
    attachment?: string;
    noted_at?: string;
  };
};

export type FunctionTestFacets = {
  identity?: {
    parent: string;
    position: number;
    result: "passed" | "failed";
    on: string;
    note?: string;
    noted_at?: string;
  };
};

export interface FacetsOf {
  site: SiteFacets;
  money: MoneyFacets;
  floor: FloorFacets;
  panel: PanelFacets;
  room: RoomFacets;
  kind: KindFacets;
  group: GroupFacets;
  cavity_reading: CavityReadingFacets;
  trial_bar: TrialBarFacets;
  lux_reading: LuxReadingFacets;
  photo: PhotoFacets;
  label: LabelFacets;
  emergency_test: EmergencyTestFacets;
  installation: InstallationFacets;
  visit: VisitFacets;
  question: QuestionFacets;
  catalogue_item: CatalogueItemFacets;
  price: PriceFacets;
  figure: FigureFacets;
  release: ReleaseFacets;
  release_sums: ReleaseSumsFacets;
  conversion: ConversionFacets;
  problem_answer: ProblemAnswerFacets;
  problem_reply: ProblemReplyFacets;
  difference_answer: DifferenceAnswerFacets;
  picking: PickingFacets;
  sign_off: SignOffFacets;
  assignment: AssignmentFacets;
  own_row: OwnRowFacets;
  punch_point: PunchPointFacets;
  acceptance: AcceptanceFacets;
  attachment: AttachmentFacets;
  waste_collection: WasteCollectionFacets;
  order: OrderFacets;
  order_prices: OrderPricesFacets;
  delivery: DeliveryFacets;
  stock_move: StockMoveFacets;
  reservation: ReservationFacets;
  offer: OfferFacets;
  offer_lines: OfferLinesFacets;
  programme: ProgrammeFacets;
  walk_hours: WalkHoursFacets;
  scenario: ScenarioFacets;
  failure: FailureFacets;
  claim_step: ClaimStepFacets;
  function_test: FunctionTestFacets;
}

export type RecordType = keyof FacetsOf;

/** A facet's value where the type of the record is not known: an object of its fields. */
// The spec decides at run time what its fields hold: any.
export type Value = Record<string, any>;

/** The facets of a type of record; of a type that is not known, whatever there is. */
export type FacetsIn<T extends string> = T extends RecordType ? FacetsOf[T] : Record<string, Value>;

/** A record as screens see it: `RecordView<'kind'>` is one of a type that is known. */
export type RecordView<T extends string = string> = {
  id: string;
  type: T;
  parent: string | null;
  removed: boolean;
  facets: FacetsIn<T>;
  conflicts: { id: string; facet: string; by: string; via?: string; at: string; value: Value; kind?: string }[];
  /** Facets that this phone has changed and the server has not taken. */
  mine: Record<string, boolean>;
  /** By facet: the operation whose value is shown. */
  seen: Record<string, string | null>;
  refused: Record<string, { op: string; code: string; facts: Record<string, unknown> }>;
  by: Record<string, string>;
  /** By facet: who handed it in, where that is another than whose word it is. */
  via?: Record<string, string>;
  at: Record<string, string>;
  /** By facet: its sequence on the server; of what the server has not taken yet a number above all, as saved. */
  order: Record<string, number>;
  /** By facet: at which sequence the server took it; none for what is not sent yet. */
  seqs: Record<string, number>;
};
