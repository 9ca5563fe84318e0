package flight

// Within returns the settings with another limit of steps.
func (s Settings) Within(steps int) Settings {
	s.steps = steps
	return s
}

// Steps returns the settings with a tolerance of the steps, whatever the build.
func (s Settings) Steps(tolerance float64) Settings {
	s.step = tolerance
	return s
}
