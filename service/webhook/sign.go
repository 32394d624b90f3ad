package webhook

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"strconv"
	"strings"
	"time"
)

// Secret is what the messages of a webhook are signed with.
type Secret []byte

// SecretPrefix starts the text of a secret.
const SecretPrefix = "whsec_"

// SecretOf returns the secret of a generation of a club's webhook:
// HMAC-SHA-256(key, club ‖ 0 ‖ webhook ‖ 0 ‖ generation). It is made again when it
// is needed, so that no row holds it.
func SecretOf(key []byte, club, webhook string, generation int64) Secret {
	mac := hmac.New(sha256.New, key)
	mac.Write([]byte(club + "\x00" + webhook + "\x00" + strconv.FormatInt(generation, 10)))
	return mac.Sum(nil)
}

// Text is the secret as the receiver is told it.
func (s Secret) Text() string { return SecretPrefix + base64.StdEncoding.EncodeToString(s) }

// Message is what is sent.
type Message struct {
	ID   string // the same at each attempt
	Body []byte
}

// Headers returns the headers of an attempt to send the message at that time,
// with a signature by each secret, the newest first (Standard Webhooks 1.0):
// v1,base64(HMAC-SHA-256(secret, id.timestamp.body)).
func (m Message) Headers(at time.Time, secrets ...Secret) map[string]string {
	stamp := strconv.FormatInt(at.Unix(), 10)
	signatures := make([]string, len(secrets))
	for i, s := range secrets {
		mac := hmac.New(sha256.New, s)
		mac.Write([]byte(m.ID + "." + stamp + "."))
		mac.Write(m.Body)
		signatures[i] = "v1," + base64.StdEncoding.EncodeToString(mac.Sum(nil))
	}
	return map[string]string{
		"webhook-id": m.ID, "webhook-timestamp": stamp, "webhook-signature": strings.Join(signatures, " "), "content-type": "application/json",
	}
}
