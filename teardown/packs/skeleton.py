"""A pack to begin with: it passes the check as it stands, and its comments say what else it may hold."""

SKELETON = """\
# A pack: the steps for one area of the car, in working order.
# Check it with:    teardown packs check {area}.toml
# What it may say:  teardown packs schema
# Write kilos and minutes as low, likely, high. Take masses from the scale, places from the car.

id = "{area}"
title = "{title}"
why = "Why this is done, and why at this point of the job."
# follows = ["make-safe"]               # packs that come before this one
# has = ["sunroof"]                     # what the car must have; unknown counts as fitted
# hazards = ["too-soon"]                # what every step meets: here, power that comes back while airbags are in

[[steps]]
id = "look"
title = "Look first"
do = '''
What to do, in plain sentences.
'''
minutes = [2, 5, 10]
# people = 2                            # with a hazard that asks who is here: heavy-lift, two-people
# hurts = "What injures people here."
# breaks = "What spoils the part."
# keep = "What the rules or the car itself may want kept."
# tools = ["trim fork", "T30"]
# hazards = ["sharp"]                   # every hazard met: it brings its gates
# needs = ["make-safe.tag-out"]         # steps that must be done first
# after = ["seats.driver-out"]          # steps that come first but may be kept or skipped
# keep_rule = "door-cards"              # the question to the rule book that decides
# defer_until = "cage-in"               # put off until then
#
# [[steps.fasteners]]
# count = [4, 6]                        # fewest, most
# what = "screws"
# drive = "T30"
# where = "along the front edge"
# fate = "bag"                          # bag, refit (in its place before the step is done), discard, stays
#
# [[steps.parts]]
# id = "{area}-cover"
# name = "Cover"
# kg = [0.4, 0.6, 1.0]
# material = "plastic"
# place = {{ x = 0.5, y = "0", z = 0.6 }} # x: share of wheelbase behind the front axle; y: of the track; z: metres up
# fate = "scrap"                        # keep, refit, sell, scrap, controlled
# counts = "saving"                     # saving, temporary (goes back, or is posted as removed), fluid, contents, added
# worth = "low"                         # none, low, medium, high
# modules = ["driver-airbag"]           # live modules inside it: the step must meet the hazard airbag
"""
