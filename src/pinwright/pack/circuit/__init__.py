"""Circuit drawings: a sketch that knows what its wires touch, the symbols, the parts, and one layout for each shape of circuit."""
