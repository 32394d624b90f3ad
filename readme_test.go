package main

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// chapter is the README's chapter of that heading.
func chapter(t *testing.T, heading string) string {
	t.Helper()
	readme, err := os.ReadFile("README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(readme), "\n## "+heading+"\n")
	if !found {
		t.Fatalf("the README has no chapter %q", heading)
	}
	text, _, _ := strings.Cut(rest, "\n## ")
	return text
}

// blocks are the fenced blocks of a language in a text.
func blocks(text, language string) (out []string) {
	for _, found := range regexp.MustCompile("(?ms)^```"+language+"\n(.*?)^```$").FindAllStringSubmatch(text, -1) {
		out = append(out, found[1])
	}
	return out
}

// hill is a fresh service with the club of the README, on the day after its last
// record. It returns the address.
func hill(t *testing.T) string {
	t.Helper()
	db := filepath.Join(t.TempDir(), "club.db")
	founding := newMachine("rhubarb under seven lids\n", nil, "found", "-db", db, "-handle", "hill", "-name", "Hill Worm Club",
		"-zone", "Europe/Lisbon", "-currency", "EUR", "-email", "ana@hill.example", "-steward", "Ana Sol")
	if err := run(t.Context(), founding.host); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	m := newMachine("", map[string]string{"ADDR": "127.0.0.1:0", "DATABASE_URL": db, "CALLS_PER_MINUTE": "0"}, "serve")
	m.now = func() time.Time { return time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC) }
	done := make(chan error, 1)
	go func() { done <- run(ctx, m.host) }()
	t.Cleanup(func() { stop(); <-done })
	return "http://" + m.address(t)
}

// shell runs a script against a service and returns what it prints.
func shell(t *testing.T, at, script string) string {
	t.Helper()
	c := exec.CommandContext(t.Context(), "bash", "-eo", "pipefail", "-c", strings.ReplaceAll(script, "http://127.0.0.1:8080", at))
	said, err := c.CombinedOutput()
	if err != nil || strings.Contains(string(said), `"/problems/`) {
		t.Fatalf("%v: %s", err, said)
	}
	return string(said)
}

func TestWhatTheREADMESaysOfAClubAndItsWebsiteIsTrue(t *testing.T) {
	t.Parallel()
	at := hill(t)
	first := blocks(chapter(t, "A club of your own"), "sh")[1]
	few := blocks(chapter(t, "In a few lines"), "sh")
	if len(few) != 4 {
		t.Fatalf("%d examples", len(few))
	}
	const mark = "--- the next example\n"
	script := first + "\necho '" + strings.TrimSpace(mark) + "'\n" + strings.Join(few, "\necho; echo '"+strings.TrimSpace(mark)+"'\n")
	script += "\necho; echo '" + strings.TrimSpace(mark) + "'\n" + blocks(chapter(t, "On the club's website"), "sh")[1]
	said := strings.Split(shell(t, at, script), mark)
	for i, wants := range [][]string{
		{"Report on Autumn 2026", "Lot "},
		{`"terms":"sale"`, `"price_minor":1250`, `"terms":"swap"`, `"state":"received"`},
		{"2026-summer: 0 g of castings from 0 g of feed", "2026-autumn: 900 g of castings from 2500 g of feed"},
		{"Where the red worms in Bo one came from", "Dale Worms 2026"},
		{`"publish_season":true`, `"published":true`, `"castings_g":900`, `"name":"Hill Worm Club"`},
		{`"allowed_origins":["https://club.example"]`},
	} {
		for _, want := range wants {
			if !strings.Contains(said[i], want) {
				t.Errorf("example %d doesn't say %q: %s", i, want, said[i])
			}
		}
	}
}

func TestTheExampleSiteIsCopiedAsTheREADMESays(t *testing.T) {
	t.Parallel()
	folder := t.TempDir()
	script := strings.ReplaceAll(blocks(chapter(t, "On the club's website"), "sh")[0], "club-site", folder+"/club-site")
	shell(t, "", script)
	files, err := filepath.Glob(folder + "/club-site/*")
	if err != nil || len(files) < 15 {
		t.Fatalf("%v %v", files, err)
	}
	for _, name := range files {
		body, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, left := range []string{"worms.example", `"harbour"`, "Calhavento"} {
			if !strings.HasSuffix(name, ".d.ts") && strings.Contains(string(body), left) {
				t.Errorf("%s still names %s", name, left)
			}
		}
	}
}
