package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The code in the README is an example that is compiled and run.
func TestReadmeCodeIsAnExample(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	example, err := os.ReadFile("../../purge/example_test.go")
	require.NoError(t, err)
	_, code, found := strings.Cut(string(readme), "```go\n")
	require.True(t, found)
	code, _, found = strings.Cut(code, "```")
	require.True(t, found)
	require.Contains(t, string(example), code)
}

// Every file that the README points to is there.
func TestReadmeLinks(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	links := regexp.MustCompile(`\]\(([^)]+)\)`).FindAllStringSubmatch(string(readme), -1)
	require.NotEmpty(t, links)
	for _, m := range links {
		require.FileExists(t, filepath.Join("..", "..", m[1]))
	}
}
