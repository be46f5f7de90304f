package xlsx

import "testing"

func TestUnescape(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"plain", "plain"}, {"one_x000D_\ntwo", "one\r\ntwo"}, {"_x005F_x000D_", "_x000D_"}, {"_x000d_", "\r"},
		{"a_x41_", "a_x41_"}, {"_x0041__x0042_", "AB"}, {"_xD83D_", "_xD83D_"}, {"_x00G0_", "_x00G0_"}, {"_x0000_", "\x00"},
	} {
		if got := unescape(c.text); got != c.want {
			t.Errorf("unescape(%q) = %q, want %q", c.text, got, c.want)
		}
	}
}
