package webhook_test

import (
	"encoding/base64"
	"net/http"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service/webhook"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"
	"pgregory.net/rapid"
)

// The example of the Standard Webhooks libraries (their tests, "sign function
// works"; seen): secret, message, time, body and signature.
const (
	exampleSecret    = "MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
	exampleID        = "msg_p5jXN8AQM9LWM0D4loKWxJek"
	exampleBody      = `{"test": 2432232314}`
	exampleSignature = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
)

func TestTheSignatureIsThatOfTheStandardsExample(t *testing.T) {
	t.Parallel()
	secret, err := base64.StdEncoding.DecodeString(exampleSecret)
	if err != nil {
		t.Fatal(err)
	}
	h := webhook.Message{ID: exampleID, Body: []byte(exampleBody)}.Headers(time.Unix(1614265330, 0), secret)
	if h["webhook-signature"] != exampleSignature || h["webhook-id"] != exampleID || h["webhook-timestamp"] != "1614265330" {
		t.Errorf("%v", h)
	}
}

func TestAnyMessageIsVerifiedByEachOfItsSecretsAndByNoOther(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		key := rapid.SliceOfN(rapid.Byte(), 32, 32).Draw(t, "key")
		m := webhook.Message{ID: "m-1", Body: rapid.SliceOf(rapid.Byte()).Draw(t, "body")}
		newer, older, other := webhook.SecretOf(key, "club", "hook", 2), webhook.SecretOf(key, "club", "hook", 1), webhook.SecretOf(key, "club", "other", 2)
		headers := http.Header{}
		for name, value := range m.Headers(time.Unix(1_777_622_400, 0), newer, older) {
			headers.Set(name, value)
		}
		for _, x := range []struct {
			secret webhook.Secret
			good   bool
		}{{newer, true}, {older, true}, {other, false}} {
			w, err := standardwebhooks.NewWebhook(x.secret.Text())
			if err != nil {
				t.Fatal(err)
			}
			if err := w.VerifyIgnoringTimestamp(m.Body, headers); (err == nil) != x.good {
				t.Fatalf("verified: %v", err)
			}
		}
	})
}

func TestASecretHasTheStandardsForm(t *testing.T) {
	t.Parallel()
	text := webhook.SecretOf([]byte("key"), "club", "hook", 1).Text()
	raw, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(text, webhook.SecretPrefix))
	if err != nil || len(raw) < 24 || len(raw) > 64 || !strings.HasPrefix(text, "whsec_") { // Standard Webhooks 1.0: 24 to 64 bytes
		t.Errorf("%s: %v", text, err)
	}
}

func TestADeliveryIsTriedTenTimesOverThreeDays(t *testing.T) {
	t.Parallel()
	if webhook.Attempts() != 10 {
		t.Errorf("%d attempts", webhook.Attempts())
	}
	var soonest, latest time.Duration
	for n := 1; n < webhook.Attempts(); n++ {
		least, most := webhook.Wait(n, 0), webhook.Wait(n, 1)
		if most != least+least/5 || n > 1 && least < webhook.Wait(n-1, 1) {
			t.Errorf("attempt %d: %v to %v", n, least, most)
		}
		soonest, latest = soonest+least, latest+most
	}
	if soonest < 72*time.Hour || latest > 96*time.Hour {
		t.Errorf("%v to %v in all", soonest, latest)
	}
	if webhook.Wait(0, 0) != 5*time.Second || webhook.Wait(99, 0) != 24*time.Hour {
		t.Error("an attempt that there isn't")
	}
}

func TestOnlyPublicAddressesByHTTPSAreKept(t *testing.T) {
	t.Parallel()
	for address, good := range map[string]bool{
		"https://club.example/hook": true, "https://club.example:8443/?a=b": true, "https://203.0.113.9/": true,
		"http://club.example/": false, "ftp://club.example/": false, "https:///x": false, "club.example": false, "": false, "https://%": false,
		"https://a:b@club.example/": false, "https://club.example/#x": false, "https://club.example/" + strings.Repeat("x", 500): false,
		"https://127.0.0.1/": false, "https://[::1]/": false, "https://localhost/": false, "https://10.1.2.3/": false, "https://192.168.0.1/": false,
		"https://169.254.169.254/latest": false, "https://[fd00::1]/": false, "https://0.0.0.0/": false, "http://127.0.0.1:9/": false,
	} {
		if err := webhook.CheckAddress(address, false); (err == nil) != good {
			t.Errorf("%s: %v", address, err)
		}
	}
	for address, good := range map[string]bool{
		"http://127.0.0.1:9/": true, "http://localhost/": true, "https://[::1]:1/": true, "ftp://localhost/": false, "http://club.example/": false, "https://10.1.2.3/": false,
	} {
		if err := webhook.CheckAddress(address, true); (err == nil) != good {
			t.Errorf("with loopback, %s: %v", address, err)
		}
	}
}

func TestEveryEventIsKnownOnce(t *testing.T) {
	t.Parallel()
	seen := map[webhook.Event]bool{}
	for _, e := range webhook.Events() {
		if noun, verb, ok := strings.Cut(string(e), "."); !ok || noun == "" || verb == "" || seen[e] || !e.Known() {
			t.Errorf("%s", e)
		}
		seen[e] = true
	}
	if webhook.Event("site.burnt").Known() {
		t.Error("an event that there isn't")
	}
}
