"""The physics of an oil-filled damper, one module per subject.

- `displacement`: areas, the oil the shaft moves, hold-back, the room in a bladder
- `oil`: growth with heat, viscosity and density with temperature, units, blends
- `gas`: pressure of the atmosphere, trapped and dissolved air
- `flow`: damping, force, and the speeds at which the character of the flow changes
- `spring`: rate and solid length of a coil spring
- `ride`: what the wheel feels of a damper and spring
- `uncertainty`: readings' tolerances combined

Every function is pure, takes and returns plain floats in SI units, names its source and raises
`ValueError` for an argument that cannot be. Import the module you need: nothing is imported here.
"""
