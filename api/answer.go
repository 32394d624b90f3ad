package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"mime"
	"net/http"
	"strings"

	"lumbricary.example/api/picture"
	"lumbricary.example/service"

	"github.com/gin-gonic/gin"
)

// jsonType is the media type of answers.
const jsonType = "application/json; charset=utf-8"

// answer is what a handler gives back.
type answer struct {
	status   int
	location string
	link     string // Link header
	file     string // name of the file that raw is, for who keeps it
	vary     string // header of the request that the form depends on
	version  int64  // of the stored row that body shows; 0: body is derived
	body     any    // encoded as JSON, unless raw is set
	kept     any    // what a replay shows in place of body; on secret routes
	raw      []byte
	media    string // of raw
}

// sent is an answer encoded.
type sent struct {
	service.Answer
	link     string
	file     string
	vary     string
	replayed bool
}

// encoded encodes the answer. Errors: those of package json.
func (a answer) encoded() (sent, error) {
	out := sent{Answer: service.Answer{Status: a.status, Location: a.location, Type: a.media, Body: a.raw}, link: a.link, file: a.file, vary: a.vary}
	if a.status == http.StatusNoContent {
		return out, nil
	}
	if a.raw == nil {
		body, err := encode(a.body)
		if err != nil {
			return sent{}, err
		}
		out.Type, out.Body = jsonType, body
	}
	out.ETag = tag(a.version, out.Body)
	return out, nil
}

// encode writes v as JSON. Errors: those of package json.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), err
}

// tag is the entity tag of a body: strong, with the version, for a stored row;
// weak for what is derived (version 0).
func tag(version int64, body []byte) string {
	sum := sha256.Sum256(body)
	hash := hex.EncodeToString(sum[:8])
	if version == 0 {
		return `W/"` + hash + `"`
	}
	return fmt.Sprintf(`"%d-%s"`, version, hash)
}

// write sends the answer, or 304 for one that the caller has.
func (a sent) write(c *gin.Context, rt route) {
	h := c.Writer.Header()
	h.Set("Cache-Control", rt.caching())
	for name, value := range map[string]string{"Location": a.Location, "Link": a.link} {
		if value != "" {
			h.Set(name, value)
		}
	}
	if a.file != "" {
		h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": a.file}))
	}
	if a.vary != "" {
		h.Add("Vary", a.vary)
	}
	if a.Type == picture.Media {
		h.Set("Content-Security-Policy", pictureCSP)
	}
	if a.replayed {
		h.Set("Idempotency-Replayed", "true")
	}
	if !rt.has(secret) && a.ETag != "" {
		h.Set("ETag", a.ETag)
	}
	if rt.method == http.MethodGet && a.Status == http.StatusOK && known(c.GetHeader("If-None-Match"), a.ETag) {
		c.Status(http.StatusNotModified)
		c.Writer.WriteHeaderNow()
		return
	}
	if a.Status == http.StatusNoContent {
		c.Status(a.Status)
		c.Writer.WriteHeaderNow()
		return
	}
	c.Data(a.Status, a.Type, a.Body)
}

// known tells whether an If-None-Match header lists the tag, by the weak
// comparison of RFC 9110, section 13.1.2.
func known(header, etag string) bool {
	for item := range strings.SplitSeq(header, ",") {
		item = strings.TrimSpace(item)
		if item == "*" || strings.TrimPrefix(item, "W/") == strings.TrimPrefix(etag, "W/") {
			return true
		}
	}
	return false
}
