"""Invented words for logs of any size: names are put together from syllables, so that every size has its own."""

GIVEN = (
    "Ottilie", "Barnaby", "Clementine", "Dashiell", "Euphemia", "Fitzgerald", "Gwendolyn", "Horatio", "Imogen",
    "Jebediah", "Kestrel", "Leopold", "Marigold", "Nehemiah", "Octavia", "Percival", "Quenby", "Rosalind",
    "Sylvester", "Tabitha", "Ulysses", "Valentine", "Wilhelmina", "Xanthe", "Yolanda", "Zebedee",
)  # fmt: skip
HEADS = (
    "Puddle", "Gravel", "Thistle", "Bramble", "Copper", "Marrow", "Willow", "Otter", "Kettle", "Fennel", "Barley",
    "Clover", "Hazel", "Juniper", "Larch", "Maple", "Nettle", "Quill", "Rowan", "Sorrel", "Tumble", "Bogle",
    "Crumble", "Damson", "Flannel", "Gumble", "Hobble", "Mumble", "Pepper", "Wobble",
)  # fmt: skip
MIDDLES = (
    "",
    "",
    "",
    "ing",
    "er",
    "en",
    "let",
    "low",
    "by",
    "ash",
    "oak",
    "elm",
    "fen",
    "dale",
    "more",
    "wind",
)
TAILS = (
    "combe", "pit", "wick", "ridge", "worth", "field", "bury", "mere", "stead", "hollow", "croft", "gate", "haven",
    "moor", "thorpe", "vale", "thwaite", "sby", "holme", "garth", "kirk", "lake", "nest", "spool",
)  # fmt: skip
WAYS = ("Lane", "Road", "Drive", "Street", "Court", "Avenue", "Way", "Terrace")
STREETS = ("Teakettle", "Gravelpit", "Owl Hollow", "Cooper's", "Sandbar", "Quarry", "Lantern", "Millrace")
TOWNS = (
    *("Nowhere Falls", "Upper Nonesuch", "Lower Nonesuch", "Elsewhere", "Nettlewick", "Puddlecombe"),
    *("Thimble Green", "Great Snoring Pond", "Little Wobble", "Dry Socks", "Farther Along", "Turnip Landing"),
)
PIECES = (
    *("back patio", "front walk", "driveway", "pool deck", "porch", "side yard", "steps and landing"),
    *("garden path", "fire pit", "courtyard", "breakfast terrace", "boat ramp", "carport", "loading dock"),
)
BASES = (
    *("Wet Biscuit", "Dusty Drum", "Rust Pot", "Old Saddle", "Flour Sack", "Storm Pail", "Clay Whistle"),
    *("Burnt Waffle", "Sleepy Brick", "Wednesday Bun"),
)
RELEASES = ("Otter Back", "Soot Cat", "Walnut Husk", "Slate Dust", "Moss Log", "Smoked Heron")
SEALERS = ("Clear Pond", "Satin Newt", "Wet Look Badger")
PATTERNS = (
    *("ashlar slate", "random stone", "herringbone brick", "wood plank", "seamless skin", "cobble"),
    *("soldier course", "fishscale tile"),
)
PLANTS = ("Stoneport", "Ridgeline", "Old Quarry", "Crumbleford")
PEOPLE = ("Ada", "Bo", "Cy", "Dot", "Eli", "Fern", "Gus")
NOTES = (
    *(
        "edge burnished by the gate",
        "puddles at the drain",
        "swept twice",
        "hose bib leaks",
        "dog crossed it",
    ),
    *("truck came late, slab stiff at the far end", "neighbor's cat prints by the downspout", "rain at four"),
    *("customer likes the darker low spots", "wind from the west all morning", "second truck a shade wetter"),
)
COMPLAINTS = (
    "white haze along the north edge",
    "color lighter than the old slab",
    "hairline crack at the drain",
)
BURIED = ("gas line", "drip irrigation", "power to the shed", "drain pipe")
