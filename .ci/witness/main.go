// Command witness stands between a tool that makes up requests and the running
// service, holds every answer against the contract, and ends with 1 when one was
// a fault of the service or isn't in the contract.
//
//	witness http://127.0.0.1:8080 127.0.0.1:8081 COMMAND ARGUMENT…
//
// It listens on the second address while the command runs. What the command
// thinks of the answers doesn't matter: it can't know which records there are.
package main

import (
	"bytes"
	"fmt"
	"io"
	"log"
	"maps"
	"net"
	"net/http"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"slices"
	"sync"

	"lumbricary.example/openapi"
	"lumbricary.example/openapi/openapitest"
)

// least is how many answers there must be of each kind, or the tool did nothing.
var least = map[int]int{2: 50, 4: 50}

type witness struct {
	contract *openapitest.Contract
	mu       sync.Mutex
	statuses map[int]int
	faults   map[string]int
}

func main() {
	if len(os.Args) < 4 {
		log.Fatal("usage: witness SERVICE ADDRESS COMMAND ARGUMENT…")
	}
	contract, err := openapitest.Read(openapi.Document())
	if err != nil {
		log.Fatal(err)
	}
	w := &witness{contract: contract, statuses: map[int]int{}, faults: map[string]int{}}
	service, err := url.Parse(os.Args[1])
	if err != nil {
		log.Fatal(err)
	}
	ln, err := net.Listen("tcp", os.Args[2])
	if err != nil {
		log.Fatal(err)
	}
	proxy := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) { r.SetURL(service) }, ModifyResponse: w.hold}
	go func() { log.Fatal(http.Serve(ln, keepBody(proxy))) }() //nolint:gosec // a tool on this machine
	cmd := exec.Command(os.Args[3], os.Args[4:]...)            //nolint:gosec,noctx // what the caller names
	_ = cmd.Run()                                              // see above
	os.Exit(w.verdict())
}

// sent is the context key of a request's body.
type sent struct{}

// keepBody lets the body be read again.
func keepBody(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			w.WriteHeader(http.StatusBadGateway)
			return
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		r.GetBody = func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(body)), nil }
		r.Header.Del("Accept-Encoding")
		next.ServeHTTP(w, r)
	})
}

// hold holds one answer against the contract.
func (w *witness) hold(resp *http.Response) error {
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		return err
	}
	resp.Body = io.NopCloser(bytes.NewReader(body))
	req := resp.Request
	req.Body, _ = req.GetBody() // never fails
	faults := w.contract.Faults(req, resp, body)
	if resp.StatusCode >= http.StatusInternalServerError {
		faults = append(faults, fmt.Errorf("a fault of the service: %s", body))
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.statuses[resp.StatusCode]++
	for _, fault := range faults {
		w.faults[fmt.Sprintf("%s %s: %d: %.600v", req.Method, req.URL.Path, resp.StatusCode, fault)]++
	}
	return nil
}

// verdict tells what was seen, and what to end with.
func (w *witness) verdict() int {
	w.mu.Lock()
	defer w.mu.Unlock()
	classes, code := map[int]int{}, 0
	for _, status := range slices.Sorted(maps.Keys(w.statuses)) {
		fmt.Printf("%d × %d\n", w.statuses[status], status)
		classes[status/100] += w.statuses[status]
	}
	for class, n := range least {
		if classes[class] < n {
			fmt.Printf("only %d answers of %dxx; want %d\n", classes[class], class, n)
			code = 1
		}
	}
	for _, fault := range slices.Sorted(maps.Keys(w.faults)) {
		fmt.Printf("%d × %s\n", w.faults[fault], fault)
		code = 1
	}
	return code
}
