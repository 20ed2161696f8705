"""The trade's arithmetic: tyre markings, masses, towing and the rest, as pure functions.

Lengths are in mm, masses in kg, pressures in kPa, speeds in km/h and volumes in L, all
exact (``Fraction`` or whole numbers). Functions that a ruleset may call are listed in
:data:`modrules.trade.functions.FUNCTIONS`.
"""
