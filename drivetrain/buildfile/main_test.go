package buildfile_test

import (
	"testing"

	"example.org/ampstroke/drivetrain/internal/effort"
)

func TestMain(m *testing.M) { effort.Main(m) }
