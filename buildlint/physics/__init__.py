"""The physics of an oil-filled damper, one module per subject.

- `displacement`: areas, the oil the shaft moves, hold-back, the room in a bladder
- `oil`: growth with heat, viscosity and density with temperature, units, blends
- `gas`: pressure of the atmosphere, trapped and dissolved air
- `flow`: damping, force, and the speeds at which the character of the flow changes; `holes`: what
  its formulas are made with
- `spring`: rate and solid length of a coil spring
- `ride`: what the wheel feels of a damper and spring

Every function is pure, takes numbers or numpy arrays whose shapes broadcast, all in SI units, and
names its source; SOURCES.md beside this file tells how sure each is. It returns a float where all
it is given are floats, else an array; nan where an argument is nan or out of its range. It raises
and warns of no number that it is given. Import the module you need: nothing is imported here.
"""
