package flight

// Within returns the settings with another limit of steps.
func (s Settings) Within(steps int) Settings {
	s.steps = steps
	return s
}
