"""From a brief and the facts to the best assignment on each board."""
