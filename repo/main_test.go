package repo_test

import (
	"os"
	"testing"

	"lumbricary.example/repo/repotest"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(writerPath); path != "" {
		writeForEver(path)
	}
	if path := os.Getenv(queuerPath); path != "" {
		queueForEver(path)
	}
	code := m.Run()
	repotest.Stop()
	os.Exit(code)
}
