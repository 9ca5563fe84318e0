package buildfile

// Explained lists the keys that something is said of.
func Explained() (paths []string) {
	for _, a := range abouts() {
		paths = append(paths, a.path)
	}
	return paths
}
