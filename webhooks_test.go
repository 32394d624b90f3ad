package main

import (
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"testing"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"
)

// message is what a receiver was sent.
type message struct {
	header http.Header
	body   []byte
}

// call sends JSON and reads the answer.
func call(t *testing.T, token, url, body string) (out map[string]any) {
	t.Helper()
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPost, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	resp, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = resp.Body.Close() }()
	if err := json.NewDecoder(resp.Body).Decode(&out); err != nil || resp.StatusCode >= http.StatusBadRequest {
		t.Fatalf("%s: %d %v %v", url, resp.StatusCode, out, err)
	}
	return out
}

func TestARunningServiceTellsAWebhookOfWhatHappensAndStopsInPeace(t *testing.T) {
	t.Parallel()
	got := make(chan message, 10)
	to := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			t.Error(err)
		}
		got <- message{r.Header, body}
	}))
	defer to.Close()
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	m := newMachine("", map[string]string{"ADDR": "127.0.0.1:0", "DATABASE_URL": filepath.Join(t.TempDir(), "club.db"), "WEBHOOKS_LOOPBACK": "on"}, "serve")
	done := make(chan error, 1)
	go func() { done <- run(ctx, m.host) }()
	base := "http://" + m.address(t) + "/v1"
	account := `{"email":"ana@hill.example","name":"Ana","passphrase":"rhubarb under seven lids"}`
	call(t, "", base+"/accounts", account)
	token := call(t, "", base+"/sessions", strings.Replace(account, `"name":"Ana",`, "", 1))["access_token"].(string)
	call(t, token, base+"/clubs", `{"handle":"hill","name":"Hill","time_zone":"Europe/Lisbon","currency":"EUR"}`)
	hook := call(t, token, base+"/clubs/hill/webhooks", `{"name":"n","url":"`+to.URL+`/hook","events":["offer.made"]}`)
	offer := call(t, token, base+"/clubs/hill/offers", `{"what":"Worms"}`)
	told := <-got
	w, err := standardwebhooks.NewWebhook(hook["secret"].(string))
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Verify(told.body, told.header); err != nil { // the time of signing as well
		t.Error(err)
	}
	if !strings.Contains(string(told.body), `"id":"`+offer["id"].(string)+`"`) {
		t.Errorf("%s", told.body)
	}
	stop()
	if err := <-done; err != nil {
		t.Errorf("stopping: %v", err)
	}
	if said := m.err.String(); strings.Contains(said, "river") || strings.Contains(said, to.URL) {
		t.Errorf("the log says %s", said)
	}
}
