"""What a closing is told in: on the screen, on paper and by the commands. Importing it costs nothing."""

FORGOTTEN = (
    "fuel at another level",
    "wheels, tyres or battery changed between the weighings",
    "washer water, coolant and oil",
    "fasteners in their bags, never weighed",
    "parts thrown into a skip or taken by helpers, never weighed",
    "a part weighed together with another line, or twice",
    "contents, jack, tools or a fire bottle left in the car",
    "water in sills and underlay; mud and dust",
    "the cage, paint and sealer, never weighed",
    "pads moved or zeroed again",
)
"""In the order they are found at fault: common practice."""

VERDICT_WORDS = {
    "closes": "CLOSES: the gap is no larger than the uncertainties allow.",
    "look": "LOOK: the gap is larger than the uncertainties allow. Something is missing, double or misread.",
    "weigh again": "WEIGH AGAIN: the gap is over 1 % of the car, and larger than the uncertainties allow.",
}
