package pages_test

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Whoever works with steel by a page of ours is told what can hurt, in the language of the page.
func TestCautions(t *testing.T) {
	b, _ := shop(t)
	for _, address := range []string{"/", "/at/S1", "/at/B1", "/at/L1", "/at/Y1", "/loads", "/stock", "/T/1-001-00000001-31"} {
		require.Equal(t, 200, b.get(address+"?lang=en"), address)
		b.says("hoisted bundles maim and kill", "it controls no machine")
		require.Equal(t, 200, b.get(address+"?lang=es"), address)
		b.says("no controla ninguna máquina")
	}
}
