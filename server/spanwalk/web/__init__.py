"""One blueprint for each service. A module named here has a `bp`; the app registers them in this order."""

BLUEPRINTS = [
    "health",
    "document",
    "sessions",
    "sites",
    "people",
    "links",
    "own",
    "push",
    "pull",
    "photos",
    "completeness",
    "fits",
    "planning",
    "figures",
    "releasing",
    "labels",
    "emergency_tests",
    "exporting",
]
