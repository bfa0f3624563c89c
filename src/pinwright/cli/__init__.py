"""The command line: a thin face over ``pinwright.planning`` and the catalogue."""
