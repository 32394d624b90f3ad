package api_test

import (
	"os"
	"testing"

	"lumbricary.example/repo/repotest"
)

func TestMain(m *testing.M) {
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}
