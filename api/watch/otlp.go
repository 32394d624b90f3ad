package watch

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	sdk "go.opentelemetry.io/otel/sdk/trace"
)

// OTLP is an exporter of spans by OTLP/HTTP in JSON (OTLP 1.x, section "JSON
// Protobuf Encoding"). OpenTelemetry's own brings gRPC with it, which would make
// the program a quarter larger.
type OTLP struct {
	url    string
	header http.Header
	client *http.Client
}

var _ sdk.SpanExporter = (*OTLP)(nil)

// NewOTLP makes an exporter to the collector at the endpoint, as
// http://127.0.0.1:4318, and with the headers, written a=b,c=d with values
// percent-encoded. Errors: an endpoint that is no http or https URL, a header
// without a value.
func NewOTLP(endpoint, headers string) (*OTLP, error) {
	u, err := url.Parse(endpoint)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
		return nil, errors.New("watch: OTEL_EXPORTER_OTLP_ENDPOINT is no http or https URL")
	}
	o := &OTLP{url: u.JoinPath("v1", "traces").String(), header: http.Header{"Content-Type": {"application/json"}}, client: &http.Client{Timeout: 10 * time.Second}}
	for pair := range strings.SplitSeq(headers, ",") {
		if strings.TrimSpace(pair) == "" {
			continue
		}
		name, value, found := strings.Cut(pair, "=")
		value, err := url.PathUnescape(strings.TrimSpace(value))
		if !found || err != nil {
			return nil, errors.New("watch: OTEL_EXPORTER_OTLP_HEADERS can't be read")
		}
		o.header.Set(strings.TrimSpace(name), value)
	}
	return o, nil
}

// ExportSpans implements sdk.SpanExporter. Errors: the collector can't be reached
// or refuses.
func (o *OTLP) ExportSpans(ctx context.Context, spans []sdk.ReadOnlySpan) error {
	if len(spans) == 0 {
		return nil
	}
	body, err := json.Marshal(exportOf(spans))
	if err != nil {
		return err
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, o.url, bytes.NewReader(body))
	if err != nil {
		return err
	}
	req.Header = o.header.Clone()
	resp, err := o.client.Do(req)
	if err != nil {
		return err
	}
	defer func() { _ = resp.Body.Close() }()
	_, _ = io.Copy(io.Discard, io.LimitReader(resp.Body, 64<<10)) // so that the connection is used again
	if resp.StatusCode/100 != 2 {
		return fmt.Errorf("watch: the collector says %s", resp.Status)
	}
	return nil
}

// Shutdown implements sdk.SpanExporter. The error is always nil.
func (o *OTLP) Shutdown(context.Context) error { return nil }

// The messages of OTLP, as far as our spans fill them.
type (
	export struct {
		ResourceSpans []resourceSpans `json:"resourceSpans"`
	}
	resourceSpans struct {
		Resource   attributed   `json:"resource"`
		ScopeSpans []scopeSpans `json:"scopeSpans"`
	}
	attributed struct {
		Attributes []keyValue `json:"attributes"`
	}
	scopeSpans struct {
		Scope scope  `json:"scope"`
		Spans []span `json:"spans"`
	}
	scope struct {
		Name string `json:"name"`
	}
	span struct {
		TraceID    string     `json:"traceId"`
		SpanID     string     `json:"spanId"`
		Parent     string     `json:"parentSpanId,omitempty"`
		Flags      int        `json:"flags"`
		Name       string     `json:"name"`
		Kind       int        `json:"kind"`
		Start      string     `json:"startTimeUnixNano"`
		End        string     `json:"endTimeUnixNano"`
		Attributes []keyValue `json:"attributes"`
		Status     statusCode `json:"status"`
	}
	statusCode struct {
		Code int `json:"code,omitempty"`
	}
	keyValue struct {
		Key   string            `json:"key"`
		Value map[string]string `json:"value"`
	}
)

// exportOf writes spans of one resource and scope, as all of ours are.
func exportOf(spans []sdk.ReadOnlySpan) export {
	var all []span
	for _, s := range spans {
		all = append(all, spanOf(s))
	}
	return export{[]resourceSpans{{
		Resource:   attributed{keyValues(spans[0].Resource().Attributes())},
		ScopeSpans: []scopeSpans{{Scope: scope{spans[0].InstrumentationScope().Name}, Spans: all}},
	}}}
}

func spanOf(s sdk.ReadOnlySpan) span {
	out := span{
		TraceID: s.SpanContext().TraceID().String(), SpanID: s.SpanContext().SpanID().String(), Flags: int(s.SpanContext().TraceFlags()),
		Name: s.Name(), Kind: int(s.SpanKind()), Attributes: keyValues(s.Attributes()),
		Start: strconv.FormatInt(s.StartTime().UnixNano(), 10), End: strconv.FormatInt(s.EndTime().UnixNano(), 10),
	}
	if s.Parent().SpanID().IsValid() {
		out.Parent = s.Parent().SpanID().String()
	}
	if s.Status().Code == codes.Error {
		out.Status.Code = 2 // STATUS_CODE_ERROR
	}
	return out
}

func keyValues(attributes []attribute.KeyValue) []keyValue {
	out := []keyValue{}
	for _, a := range attributes {
		kind := "stringValue"
		if a.Value.Type() == attribute.INT64 {
			kind = "intValue"
		}
		out = append(out, keyValue{string(a.Key), map[string]string{kind: a.Value.String()}})
	}
	return out
}
