package repo_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"lumbricary.example/repo"
	"lumbricary.example/repo/repotest"
)

// writerPath is the variable that makes the test binary a writer of sites into
// that file, until it is killed.
const writerPath = "REPO_TEST_WRITER"

func writeForEver(path string) {
	s, err := repo.Open(context.Background(), path, repo.Options{})
	for n := 100; err == nil; n++ {
		if err = s.Update(context.Background(), north, addSite(n, fmt.Sprint("site ", n))); err == nil {
			fmt.Println(n) // committed: whoever reads this may count on it
		}
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

func TestACommittedWriteSurvivesTheDeathOfTheProgram(t *testing.T) {
	t.Parallel()
	path := repotest.SQLiteURL(t)
	s, err := repo.Open(t.Context(), path, repo.Options{})
	must(t, err)
	twoClubs(t, s)
	must(t, s.Close())

	writer := exec.CommandContext(t.Context(), os.Args[0])
	writer.Env = append(os.Environ(), writerPath+"="+path)
	writer.Stderr = os.Stderr
	out, err := writer.StdoutPipe()
	must(t, err)
	must(t, writer.Start())
	told := bufio.NewScanner(out)
	last := 0
	for told.Scan() {
		last, err = strconv.Atoi(told.Text())
		must(t, err)
		if last == 120 {
			must(t, writer.Process.Kill()) // SIGKILL, in the middle of a write
		}
	}
	_ = writer.Wait()

	s, err = repo.Open(t.Context(), path, repo.Options{})
	must(t, err)
	t.Cleanup(func() { must(t, s.Close()) })
	if n := sites(t, s, north) - 1; last < 120 || n < last-99 || n > last-98 {
		t.Errorf("%d sites; told of %d", n, last-99)
	}
	var sound string
	must(t, s.ReadSQL().QueryRowContext(t.Context(), "PRAGMA integrity_check").Scan(&sound))
	if sound != "ok" {
		t.Error(sound)
	}
}
