"""Wood: species, boards, movement, readings, weight, risk."""
