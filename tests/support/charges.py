"""What an invented site's money says is charged on the job."""

CHARGES = {
    "mobilisation": 450,
    "permit_sum": 85,
    "permit_pct": 1.2,
    "crew_people": 2,
    "crew_day_h": 7,
    "travel_h_per_day": 1,
    "travel_per_day": 48,
    "short_lamp_container_each": 95,
    "short_lamp_container_holds": 120,
    "tax_pct": 8,
    "tax_on": "materials",
}
