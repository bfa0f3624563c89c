"""An independent second pass over a wiring: findings from facts alone, whoever chose the pins."""
