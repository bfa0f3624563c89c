"""Everything handed over for a plan: so far the power-up timeline as a drawing."""
