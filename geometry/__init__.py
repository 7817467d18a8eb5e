"""Pure computation from scan to blank: arrays in, arrays out; millimetres, radians, float64."""
