// The list needs the go command, which cannot be started from a browser runtime.
//go:build !js

package units

import (
	"os/exec"
	"strings"
	"testing"
)

// TestOnlyTheStandardLibrary lists every package that units needs and allows
// none outside the standard library but itself.
func TestOnlyTheStandardLibrary(t *testing.T) {
	own, err := exec.Command("go", "list", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("go", "list", "-deps", "-f", "{{if not .Standard}}{{.ImportPath}}{{end}}", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	if got, want := strings.Fields(string(out)), strings.TrimSpace(string(own)); len(got) != 1 || got[0] != want {
		t.Errorf("outside the standard library: %v, want only %s", got, want)
	}
}
