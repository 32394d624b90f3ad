package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"lumbricary.example/api/apitest"
	"lumbricary.example/service"
	"lumbricary.example/service/webhook"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"
)

// hooked is a webhook of Ana's with a delivery.
func hooked(c *harbour) (hook, delivery string) {
	hook = c.ana.Post("/webhooks", `{"name":"hers","url":"https://club.example/","events":["offer.made"]}`).Want(201).ID()
	c.ana.Post("/offers", `{"what":"Worms to tell of"}`).Want(201)
	return hook, c.ana.Get("/webhooks/" + hook + "/deliveries").Want(200).Text("/items/0/id")
}

// replaying sends a delivery again.
func replaying(path string) func(*harbour) func() *apitest.Answer {
	return func(c *harbour) func() *apitest.Answer {
		hook, delivery := hooked(c)
		return func() *apitest.Answer {
			return c.ana.Post("/webhooks/"+hook+strings.Replace(path, "DELIVERY", delivery, 1), `{"since":"2026-04-01"}`)
		}
	}
}

// receiver is where messages are sent to, and what it answers.
type receiver struct {
	mu      sync.Mutex
	answer  service.Attempt
	headers []map[string]string
	bodies  []string
}

// Send implements service.Sender.
func (r *receiver) Send(_ context.Context, _ string, headers map[string]string, body []byte) service.Attempt {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.headers, r.bodies = append(r.headers, headers), append(r.bodies, string(body))
	return r.answer
}

// verify holds message n against a secret by a library that isn't ours.
func (r *receiver) verify(t *testing.T, n int, secret string) error {
	t.Helper()
	w, err := standardwebhooks.NewWebhook(secret)
	if err != nil {
		t.Fatal(err)
	}
	h := http.Header{}
	for name, value := range r.headers[n] {
		h.Set(name, value)
	}
	return w.VerifyIgnoringTimestamp([]byte(r.bodies[n]), h)
}

// wired is a harbour with a webhook for events, and its receiver.
type wired struct {
	*harbour
	t      *testing.T
	to     *receiver
	hook   string
	secret string
}

func eachWired(t *testing.T, events string, fn func(*testing.T, *wired)) {
	t.Helper()
	eachStocked(t, func(t *testing.T, c *harbour) { fn(t, wire(t, c, events)) })
}

func wire(t *testing.T, c *harbour, events string) *wired {
	t.Helper()
	w := &wired{harbour: c, t: t, to: &receiver{answer: service.Attempt{Status: 204, Answer: "ok\x00", Took: 120 * time.Millisecond}}}
	c.Server.Sender, c.Server.WebhookKey = w.to, []byte("a key for the webhooks of tests")
	made := c.ana.Post("/webhooks", `{"name":"Website","url":"https://club.example/hook?token=hush","events":[`+events+`]}`).Want(201).Has("Cache-Control", "no-store")
	w.hook, w.secret = made.ID(), made.Text("/secret")
	return w
}

// try has every pending delivery tried for the so-manieth time.
func (w *wired) try(attempt int) (failed int) {
	w.t.Helper()
	for _, item := range w.ana.Get("/webhooks/" + w.hook + "/deliveries?state=pending&limit=100").Want(200).Value("/items").([]any) {
		job := service.DeliveryJob{Club: w.club(), Delivery: service.DeliveryID(item.(map[string]any)["id"].(string))}
		if err := w.Server.Webhooks.Deliver(w.t.Context(), job, attempt); err != nil {
			failed++
		}
	}
	return failed
}

func (w *wired) club() service.ClubID {
	return service.ClubID(w.ana.Get("").Want(200).ID())
}

// log is the states of the deliveries, with the attempts.
func (w *wired) log() string {
	var out []string
	for _, item := range w.ana.Get("/webhooks/" + w.hook + "/deliveries").Want(200).Value("/items").([]any) {
		d := item.(map[string]any)
		out = append(out, fmt.Sprintf("%s %s %d", d["event"], d["state"], len(d["attempts"].([]any))))
	}
	return strings.Join(out, "\n")
}

func TestAnEventIsToldWithIdsAndFiguresAndSigned(t *testing.T) {
	t.Parallel()
	eachWired(t, `"feeding.recorded"`, func(t *testing.T, w *wired) {
		feeding := w.ana.Post("/feedings", w.named(`{"bin":"TOTE","at":"2026-04-30","note":"hush hush","items":[{"material":"SCRAPS","quantity":{"value":2,"unit":"kg"}}]}`)).Want(201).ID()
		w.ana.Post("/offers", `{"what":"hush hush"}`).Want(201)
		if w.try(1) != 0 || w.log() != "feeding.recorded delivered 1" {
			t.Fatalf("%s", w.log())
		}
		if err := w.to.verify(t, 0, w.secret); err != nil {
			t.Error(err)
		}
		if stamp := w.to.headers[0]["webhook-timestamp"]; stamp != "1777622400" {
			t.Errorf("sent at %s", stamp)
		}
		var told struct {
			Type, Timestamp string
			Data            struct {
				Club, Noun, ID, Member string
				Record                 struct {
					Bin, At string
					Items   []map[string]any
				}
			}
		}
		if err := json.Unmarshal([]byte(w.to.bodies[0]), &told); err != nil {
			t.Fatal(err)
		}
		d := told.Data
		if told.Type != "feeding.recorded" || told.Timestamp != "2026-05-01T08:00:00Z" || d.ID != feeding || d.Noun != "feeding" || d.Member != w.anaID ||
			d.Record.Bin != w.tote || d.Record.At != "2026-04-30" || len(d.Record.Items) != 1 || strings.Contains(w.to.bodies[0], "hush") {
			t.Errorf("%s", w.to.bodies[0])
		}
		a := w.ana.Get("/webhooks/"+w.hook+"/deliveries").Is("/items/0/attempts/0/status", 204).Is("/items/0/attempts/0/answer", "ok").
			Is("/items/0/attempts/0/duration_ms", 120).Is("/items/0/attempts/0/fault", nil).Is("/items/0/payload/data/id", feeding)
		if a.Text("/items/0/message_id") != w.to.headers[0]["webhook-id"] {
			t.Errorf("%s isn't %s", w.to.headers[0]["webhook-id"], a.Body)
		}
	})
}

func TestEveryEventOfTheCatalogueIsTold(t *testing.T) {
	t.Parallel()
	var all []string
	for _, e := range webhook.Events() {
		all = append(all, `"`+string(e)+`"`)
	}
	c := stocked(t)
	w := wire(t, c, strings.Join(all, ","))
	everything := changes()
	for name, ch := range transferChanges() {
		everything[name] = ch
	}
	for _, name := range changing(t) {
		everything[name].ready(c)()
	}
	told := map[string]bool{}
	for path := "/webhooks/" + w.hook + "/deliveries?limit=100"; path != ""; {
		var page struct {
			Items      []struct{ Event, Payload json.RawMessage }
			NextCursor *string `json:"next_cursor"`
		}
		c.ana.Get(path).Want(200).Into(&page)
		for _, d := range page.Items {
			told[strings.Trim(string(d.Event), `"`)] = true
			if strings.Contains(string(d.Payload), "hush") {
				t.Errorf("%s tells %s", d.Event, d.Payload)
			}
		}
		path = ""
		if page.NextCursor != nil {
			path = "/webhooks/" + w.hook + "/deliveries?limit=100&cursor=" + *page.NextCursor
		}
	}
	for _, e := range webhook.Events() {
		if !told[string(e)] {
			t.Errorf("nothing told %s", e)
		}
	}
}

func TestARefusedOrRehearsedCallTellsNothing(t *testing.T) {
	t.Parallel()
	eachWired(t, `"check.recorded","feeding.recorded"`, func(t *testing.T, w *wired) {
		w.ana.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":170}`)).Want(422)
		w.ana.Post("/records", w.named(`{"checks":[{"bin":"TOTE","moisture_pct":70},{"bin":"TOTE","moisture_pct":170}]}`)).Want(422)
		w.ana.Post("/imports?dry_run=true", `{"checks":[]}`)
		if w.log() != "" {
			t.Errorf("%s", w.log())
		}
		keyed := w.ana.With("Idempotency-Key", `"once"`)
		for range 2 {
			keyed.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":70}`)).Want(201)
		}
		if w.log() != "check.recorded pending 0" {
			t.Errorf("a call that came twice: %s", w.log())
		}
	})
}

func TestAMessageIsTriedAgainUntilItIsGivenUpAndCanBeReplayed(t *testing.T) {
	t.Parallel()
	eachWired(t, `"check.recorded"`, func(t *testing.T, w *wired) {
		w.ana.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":70}`)).Want(201)
		w.to.answer = service.Attempt{Fault: "timeout"}
		for n := 1; n < webhook.Attempts(); n++ {
			if w.try(n) != 1 {
				t.Fatalf("attempt %d isn't tried again", n)
			}
		}
		if w.try(webhook.Attempts()) != 0 || w.log() != "check.recorded given-up 10" {
			t.Errorf("%s", w.log())
		}
		delivery := w.ana.Get("/webhooks/"+w.hook+"/deliveries?order=newest").Is("/items/0/attempts/0/fault", "timeout").Is("/items/0/attempts/0/status", nil).Text("/items/0/id")
		w.to.answer = service.Attempt{Status: 200}
		w.ana.Post("/webhooks/"+w.hook+"/deliveries/"+delivery+"/replay", ``).Want(200).Is("/state", "pending")
		w.try(1)
		if w.log() != "check.recorded delivered 11" || w.to.headers[0]["webhook-id"] != w.to.headers[10]["webhook-id"] {
			t.Errorf("%s", w.log())
		}
		replay := func(body string, want int) {
			w.ana.Post("/webhooks/"+w.hook+"/replay", body).Want(200).Is("/deliveries", want)
		}
		replay(`{"since":"2026-04-01"}`, 0)
		replay(`{"since":"2026-04-01","all":true}`, 1)
		replay(`{"since":"2026-05-01T08:00:00.000001Z","all":true}`, 0)
		w.ana.Post("/webhooks/"+w.hook+"/replay", `{"since":"soon"}`).Problem(422, "invalid", "/since")
		other := w.ana.Post("/webhooks", `{"name":"Other","url":"https://other.example/","events":["check.recorded"]}`).Want(201).ID()
		w.ana.Post("/webhooks/"+other+"/deliveries/"+delivery+"/replay", ``).Problem(404, "delivery-not-found")
		w.ana.Get("/webhooks/"+w.hook+"/deliveries?state=lost").Problem(400, "malformed", "?state")
	})
}

func TestAReceiverThatIsGoneTurnsItsWebhookOff(t *testing.T) {
	t.Parallel()
	eachWired(t, `"check.recorded"`, func(t *testing.T, w *wired) {
		for range 2 {
			w.ana.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":70}`)).Want(201)
		}
		w.to.answer = service.Attempt{Status: 410}
		if w.try(1) != 0 || w.log() != "check.recorded given-up 1\ncheck.recorded given-up 0" {
			t.Errorf("%s", w.log())
		}
		w.ana.Get("/webhooks/"+w.hook).Want(200).Is("/enabled", false).Is("/gone_at", "2026-05-01T08:00:00Z")
		w.ana.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":70}`)).Want(201)
		w.ana.Post("/webhooks/"+w.hook+"/replay", `{"since":"2026-04-01"}`).Problem(409, "webhook-off")
		w.ana.Patch("/webhooks/"+w.hook, "*", `{"enabled":true}`).Want(200).Is("/gone_at", nil)
		w.ana.Post("/webhooks/"+w.hook+"/replay", `{"since":"2026-04-01"}`).Want(200).Is("/deliveries", 2)
	})
}

func TestForADayAfterARotationBothSecretsSign(t *testing.T) {
	t.Parallel()
	eachWired(t, `"check.recorded"`, func(t *testing.T, w *wired) {
		rotated := w.ana.Post("/webhooks/"+w.hook+"/rotation", ``).Want(200).Is("/rotated_at", "2026-05-01T08:00:00Z").Text("/secret")
		if rotated == w.secret {
			t.Error("the secret is the same")
		}
		check := func() {
			w.ana.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":70}`)).Want(201)
			w.try(1)
		}
		check()
		w.Clock.Move(24 * time.Hour)
		w.again()
		check()
		for name, x := range map[string]struct {
			message int
			secret  string
			good    bool
		}{"the new one": {0, rotated, true}, "the old one": {0, w.secret, true}, "the new one a day later": {1, rotated, true}, "the old one a day later": {1, w.secret, false}} {
			if err := w.to.verify(t, x.message, x.secret); (err == nil) != x.good {
				t.Errorf("%s: %v", name, err)
			}
		}
		w.ana.Get("/webhooks/"+w.hook).Want(200).Is("/secret", nil)
	})
}

func TestAWebhookIsRemovedWithItsLog(t *testing.T) {
	t.Parallel()
	eachWired(t, `"check.recorded"`, func(t *testing.T, w *wired) {
		w.ana.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":70}`)).Want(201)
		delivery := w.ana.Get("/webhooks/" + w.hook + "/deliveries").Text("/items/0/id")
		club := w.club()
		w.ana.Delete("/webhooks/"+w.hook, "*").Want(204)
		w.ana.Get("/webhooks/"+w.hook+"/deliveries").Problem(404, "webhook-not-found")
		if err := w.Server.Webhooks.Deliver(t.Context(), service.DeliveryJob{Club: club, Delivery: service.DeliveryID(delivery)}, 1); err != nil || len(w.to.bodies) > 0 {
			t.Errorf("what was queued: %v, %v", err, w.to.bodies)
		}
	})
}

func TestOldDeliveriesAreForgotten(t *testing.T) {
	t.Parallel()
	eachWired(t, `"check.recorded"`, func(t *testing.T, w *wired) {
		w.ana.Post("/checks", w.named(`{"bin":"TOTE","moisture_pct":70}`)).Want(201)
		forget := func() {
			if err := w.Server.Webhooks.ForgetOldDeliveries(t.Context()); err != nil {
				t.Fatal(err)
			}
			w.again()
		}
		w.Clock.Move(30 * 24 * time.Hour)
		if forget(); w.log() != "check.recorded pending 0" {
			t.Errorf("after 30 days: %q", w.log())
		}
		w.Clock.Move(time.Second)
		if forget(); w.log() != "" {
			t.Errorf("after more: %q", w.log())
		}
	})
}

func TestWhatAWebhookCanNotBeIsRefusedByItsPointer(t *testing.T) {
	t.Parallel()
	c := newHarbour(t)
	body := func(name, url, events string) string {
		return fmt.Sprintf(`{"name":%q,"url":%q,"events":[%s]}`, name, url, events)
	}
	for name, x := range map[string]struct{ body, pointer string }{
		"no name":               {body("", "https://club.example/", `"offer.made"`), "/name"},
		"plain http":            {body("n", "http://club.example/", `"offer.made"`), "/url"},
		"a private address":     {body("n", "https://10.0.0.1/", `"offer.made"`), "/url"},
		"the program's machine": {body("n", "https://localhost/", `"offer.made"`), "/url"},
		"a user":                {body("n", "https://a:b@club.example/", `"offer.made"`), "/url"},
		"no event":              {body("n", "https://club.example/", ``), "/events"},
		"an unknown event":      {body("n", "https://club.example/", `"offer.made","site.burnt"`), "/events/1"},
		"an event twice":        {body("n", "https://club.example/", `"offer.made","offer.made"`), "/events/1"},
	} {
		t.Run(name, func(t *testing.T) { c.ana.Post("/webhooks", x.body).Problem(422, "invalid", x.pointer) })
	}
	for range 20 {
		c.ana.Post("/webhooks", body("n", "https://club.example/", `"offer.made"`)).Want(201)
	}
	c.ana.Post("/webhooks", body("n", "https://club.example/", `"offer.made"`)).Problem(422, "invalid", "")
}
