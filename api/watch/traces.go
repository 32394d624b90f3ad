package watch

import (
	"context"
	"net/http"
	"time"

	"lumbricary.example/api"

	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/propagation"
	"go.opentelemetry.io/otel/sdk/resource"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/trace"
)

// Traces makes a span of every call.
type Traces struct {
	provider *sdk.TracerProvider
	tracer   trace.Tracer
}

// NewTraces makes traces that go to the exporter in batches. The environment's
// OTEL_SERVICE_NAME, OTEL_RESOURCE_ATTRIBUTES, OTEL_TRACES_SAMPLER and OTEL_BSP_…
// hold.
func NewTraces(to sdk.SpanExporter, version string) *Traces {
	about := resource.NewSchemaless(attribute.String("service.name", "lumbricary"), attribute.String("service.version", version))
	if merged, err := resource.Merge(about, resource.Environment()); err == nil {
		about = merged
	}
	p := sdk.NewTracerProvider(sdk.WithBatcher(to), sdk.WithResource(about))
	return &Traces{provider: p, tracer: p.Tracer("lumbricary.example/api/watch")}
}

// Watch is an api.Watcher: a span with the method, the route's template and the
// status, and nothing else.
func (t *Traces) Watch(ctx context.Context, call api.Call) (context.Context, func(status int)) {
	parent := propagation.MapCarrier{"traceparent": call.TraceParent}
	ctx, span := t.tracer.Start(propagation.TraceContext{}.Extract(ctx, parent), call.Method+" "+call.Route,
		trace.WithSpanKind(trace.SpanKindServer),
		trace.WithAttributes(attribute.String("http.request.method", call.Method), attribute.String("http.route", call.Route)))
	return ctx, func(status int) {
		span.SetAttributes(attribute.Int("http.response.status_code", status))
		if status >= http.StatusInternalServerError {
			span.SetStatus(codes.Error, "")
		}
		span.End()
	}
}

// Close sends what is left, for 5 s at most. Errors: those of the exporter.
func (t *Traces) Close(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	return t.provider.Shutdown(ctx)
}
