package chart

import (
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// A name is cut where it is by trying every cut from its end, however long it is.
func TestShort(t *testing.T) {
	byTrying := func(name string, most int) string {
		style := letters(9, ink)
		room := style.Width(strings.Repeat("n", most))
		if style.Width(name) <= room {
			return name
		}
		r := []rune(name)
		for len(r) > 1 && style.Width(string(r)+"…") > room {
			r = r[:len(r)-1]
		}
		return string(r) + "…"
	}
	of := []rune("iiillWWMnAVATo .,·ЖΩ武é\u0301\u200b")
	source := rand.New(rand.NewPCG(1, 9))
	cut := 0
	for range 60 {
		name := make([]rune, 1+source.IntN(400))
		narrow := source.IntN(3) == 0
		for i := range name {
			name[i] = of[source.IntN(len(of))]
			if narrow {
				name[i] = of[source.IntN(4)]
			}
		}
		most := 4 + source.IntN(50)
		want := byTrying(string(name), most)
		assert.Equal(t, want, short(string(name), most))
		if want != string(name) {
			cut++
		}
	}
	assert.Greater(t, cut, 30)
	assert.Equal(t, short(strings.Repeat("i", 2000), 50), short(strings.Repeat("i", 200_000), 50))
	assert.Equal(t, strings.Repeat("\u0301", 300), short(strings.Repeat("\u0301", 300), 5), "of no width, if the font has it so")
}
