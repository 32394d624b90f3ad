package api

import (
	"compress/gzip"
	"mime"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"github.com/gin-gonic/gin"
)

const (
	packMin = 1 << 10 // bytes; a smaller body goes as it is
	// packed ends the tag of a body that went as gzip, inside the quotes. A strong
	// tag names bytes (RFC 9110, section 8.8.1), so the two forms need two tags;
	// a weak one would be of no use in If-Match. Weak tags stay as they are.
	packed = "-gzip"
)

// compress sends bodies as gzip to callers who take it, and no body to HEAD. It
// takes the ending off the tags that callers send back, so that what lies behind
// it knows one tag a body. An answer is written in one piece.
func compress() gin.HandlerFunc {
	packers := &sync.Pool{New: func() any {
		w, _ := gzip.NewWriterLevel(nil, gzip.BestSpeed) // a valid level
		return w
	}}
	return func(c *gin.Context) {
		before := c.Writer
		out := &outgoing{
			ResponseWriter: before, packers: packers, head: c.Request.Method == http.MethodHead,
			pack: takesGzip(c.GetHeader("Accept-Encoding")), had: c.GetHeader("If-None-Match"),
		}
		for _, name := range []string{"If-None-Match", "If-Match"} {
			if tags := c.GetHeader(name); tags != "" {
				c.Request.Header.Set(name, strings.ReplaceAll(tags, packed+`"`, `"`))
			}
		}
		c.Header("Vary", "Accept-Encoding")
		c.Writer = out
		defer func() { c.Writer = before }()
		c.Next()
		out.begin(nil)
	}
}

// outgoing is an answer on its way out.
type outgoing struct {
	gin.ResponseWriter
	packers    *sync.Pool
	pack, head bool   // the caller takes gzip, takes no body
	had        string // the caller's If-None-Match
	begun      bool
}

// Write implements io.Writer: it sends the body. Errors: those of the connection.
func (o *outgoing) Write(body []byte) (int, error) {
	packs := o.begin(body)
	switch {
	case o.head:
		return len(body), nil
	case !packs:
		return o.ResponseWriter.Write(body)
	}
	w := o.packers.Get().(*gzip.Writer)
	defer o.packers.Put(w)
	w.Reset(o.ResponseWriter)
	n, err := w.Write(body)
	if err != nil {
		return n, err
	}
	return n, w.Close()
}

// WriteString implements io.StringWriter. Errors: those of Write.
func (o *outgoing) WriteString(body string) (int, error) { return o.Write([]byte(body)) }

// WriteHeaderNow sends the headers of an answer without a body.
func (o *outgoing) WriteHeaderNow() {
	o.begin(nil)
	o.ResponseWriter.WriteHeaderNow()
}

// begin settles the headers and tells whether the body goes as gzip.
func (o *outgoing) begin(body []byte) (packs bool) {
	if o.begun {
		return false
	}
	o.begun = true
	h := o.Header()
	etag := h.Get("ETag")
	packs = o.pack && len(body) >= packMin && packable(h.Get("Content-Type"))
	if packs {
		h.Set("Content-Encoding", "gzip")
		h.Del("Content-Length")
	} else if o.head && body != nil {
		h.Set("Content-Length", strconv.Itoa(len(body)))
	}
	same := o.pack && o.Status() == http.StatusNotModified && strings.Contains(o.had, packedTag(etag))
	if strings.HasPrefix(etag, `"`) && (packs || same) {
		h.Set("ETag", packedTag(etag))
	}
	return packs
}

// packedTag is the tag of the same body as gzip.
func packedTag(etag string) string { return strings.TrimSuffix(etag, `"`) + packed + `"` }

// packable tells whether gzip makes a body of the type smaller: texts, but no
// archives or pictures, which are small already.
func packable(contentType string) bool {
	media, _, err := mime.ParseMediaType(contentType)
	if err != nil {
		return false
	}
	for _, end := range []string{"json", "+xml", "/javascript"} {
		if strings.HasSuffix(media, end) {
			return true
		}
	}
	return strings.HasPrefix(media, "text/")
}

// takesGzip reads an Accept-Encoding header (RFC 9110, section 12.5.3).
func takesGzip(header string) bool {
	all := false
	for item := range strings.SplitSeq(strings.ToLower(header), ",") {
		coding, weight, _ := strings.Cut(item, ";")
		switch strings.TrimSpace(coding) {
		case "gzip", "x-gzip":
			return weighs(weight)
		case "*":
			all = weighs(weight)
		}
	}
	return all
}

// weighs tells whether a weight such as q=0.5 isn't zero.
func weighs(weight string) bool {
	_, q, given := strings.Cut(weight, "=")
	n, err := strconv.ParseFloat(strings.TrimSpace(q), 64)
	return !given || err == nil && n > 0
}
