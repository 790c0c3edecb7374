package prepare

import "testing"

func TestPrepareWords(t *testing.T) {
	for _, c := range []struct {
		strides float64
		want    string
	}{
		{0, "nothing has to be prepared before C"},
		{0.4, "begin to prepare one stride before C"},
		{3, "begin to prepare 3 strides before C"},
		{3.2, "begin to prepare 4 strides before C"},
	} {
		if got := prepareWords(c.strides, "C"); got != c.want {
			t.Errorf("%g strides: %q", c.strides, got)
		}
	}
}
