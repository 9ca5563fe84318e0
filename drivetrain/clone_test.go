package drivetrain_test

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/ampstroke/battery"
	"example.org/ampstroke/drivetrain"
)

// fill gives every field below v a value: each pointer a target, each slice two members.
func fill(t *testing.T, v reflect.Value) {
	switch v.Kind() {
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(t, v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		for i := range v.Len() {
			fill(t, v.Index(i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			require.True(t, v.Type().Field(i).IsExported(), "%s.%s can't be filled from here", v.Type(), v.Type().Field(i).Name)
			fill(t, v.Field(i))
		}
	case reflect.String:
		v.SetString("word")
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Int:
		v.SetInt(7)
	case reflect.Float64:
		v.SetFloat(7)
	case reflect.Interface: // a cell of one's own is read only, and shared
		v.Set(reflect.ValueOf(battery.ChenRinconMora{}))
	default:
		t.Fatalf("a %s, which Clone has to learn about", v.Type())
	}
}

// apart holds that no pointer or slice of two values leads to the same memory, and
// counts them.
func apart(t *testing.T, a, b reflect.Value, path string) (seen int) {
	switch a.Kind() {
	case reflect.Pointer:
		assert.NotEqual(t, a.Pointer(), b.Pointer(), "%s is shared", path)
		return 1 + apart(t, a.Elem(), b.Elem(), path)
	case reflect.Slice:
		assert.NotEqual(t, a.Pointer(), b.Pointer(), "%s is shared", path)
		for i := range a.Len() {
			seen += apart(t, a.Index(i), b.Index(i), path)
		}
		return seen + 1
	case reflect.Struct:
		for i := range a.NumField() {
			seen += apart(t, a.Field(i), b.Field(i), path+"."+a.Type().Field(i).Name)
		}
	}
	return seen
}

func TestCloneSharesNothing(t *testing.T) {
	var b drivetrain.Build
	fill(t, reflect.ValueOf(&b).Elem())
	c := b.Clone()
	require.Equal(t, &b, c)
	assert.Greater(t, apart(t, reflect.ValueOf(b), reflect.ValueOf(*c), "Build"), 10, "the test must see the pointers")
}

// What is nil stays nil, and what is empty stays empty.
func TestCloneOfLittle(t *testing.T) {
	assert.Equal(t, &drivetrain.Build{}, (&drivetrain.Build{}).Clone())
	b := &drivetrain.Build{Pads: []float64{}, Rack: &drivetrain.Rack{}}
	assert.Equal(t, b, b.Clone())
	w := whole()
	assert.Equal(t, &w, w.Clone())
}
