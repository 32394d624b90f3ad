package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"lumbricary.example/openapi"
)

// document is the contract in the making.
type document struct {
	*source
	goTypes map[string]string // of each schema
}

func (d *document) schemas() object { return in(d.root, "components", "schemas") }

// tag is a group of operations.
type tag struct{ name, description string }

// tags are the groups, in the order of the documentation.
func tags() []tag {
	return []tag{
		{"accounts", "People who can sign in, and how they do."},
		{"clubs", "A club and its settings. Everything else of a club lies under its path."},
		{"members", "Who belongs to a club, and in which role."},
		{"invitations", "How people become members."},
		{"api-keys", "How programs call for a member or for the club."},
		{"webhooks", "Addresses that are told of what happens (Standard Webhooks 1.0)."},
		{"sites", "Where bins stand."},
		{"bins", "Containers, bags and beds of worms."},
		{"materials", "Feed, bedding and amendments."},
		{"measures", "Buckets and other vessels that feed is measured with."},
		{"turnouts", "How many took part: households, and hours that volunteers gave."},
		{"receipts", "Feedstock and bedding that came in, and from whom."},
		{"cultures", "Strains that a club keeps apart."},
		{"origins", "Where worms came from."},
		{"feedings", "What was fed, when and how."},
		{"quarantines", "The time that an arrival spends in a bin of its own."},
		{"identifications", "What species the worms of a lot were found to be."},
		{"contacts", "Tools or bedding that bins shared without a cleaning between."},
		{"clearings", "Bins, batches and receipts that were cleared of what they may have been exposed to."},
		{"checks", "What a keeper saw: temperature, moisture, leftovers, trouble."},
		{"censuses", "Counts and estimates of the worms in a bin."},
		{"harvests", "Castings taken out, and what was put back."},
		{"batches", "Castings as they are stored, dried, screened, blended, bagged and analysed."},
		{"movements", "Worms and castings that came, went, died or were given: the stock book's entries."},
		{"lots", "Worms of one descent, and the lineage behind them."},
		{"labels", "What is stuck on bins and bags, and what a phone reads off it."},
		{"offers", "Surplus that members are willing to part with."},
		{"transfers", "Worms, castings and material that are sold, swapped, given or lent: proposed, sent, received."},
		{"due", "What is due, as a list and as a calendar behind a private link."},
		{"public", "What a club chose to show to everybody, without credentials: for its website."},
		{"reports", "Figures of a bin, a member, a season."},
		{"records", "The club's book as files, in and out."},
		{"reference", "Published figures of species and feedstocks, with their sources."},
		{"service", "The service itself: its health, its keys, the meaning of its problems."},
	}
}

const about = "Bins and what is fed to them, checks, harvests, worms and where they came from.\n\n" +
	"Names are snake_case and a number's name ends in its unit. Times are RFC 3339 in UTC. Ids are UUIDs that the caller may choose. " +
	"Every 4xx and 5xx is a problem document (RFC 9457) whose type answers with its explanation. " +
	"What isn't there and what isn't yours to see answer with the same 404. " +
	"Unknown members and parameters are refused, not passed over; answers may gain members."

// finishDocument adds what the whole document says. Errors: a tag without a
// description.
func (d *document) finishDocument() error {
	used := map[string]bool{}
	for _, op := range d.operations() {
		names, _ := op.body["tags"].([]any)
		for _, n := range names {
			used[text(n)] = true
		}
	}
	var listed []any
	for _, t := range tags() {
		if used[t.name] {
			listed = append(listed, object{"name": t.name, "description": t.description})
		}
		delete(used, t.name)
	}
	for _, name := range slices.Sorted(maps.Keys(used)) {
		return fmt.Errorf("the tag %s has no description in openapi/gen/document.go", name)
	}
	components := in(d.root, "components")
	components["securitySchemes"] = object{"accessToken": object{
		"type": "http", "scheme": "bearer", "bearerFormat": "JWT", "description": "An access token (RFC 9068), as signing in gives it; made and checked as RFC8725 advises.",
	}, "apiKey": object{
		"type": "http", "scheme": "bearer", "bearerFormat": "lbk_ and 58 characters", "description": "An API key of the club in the path, with the scope that the operation names; hand-overs and prices need the scope transfer besides.",
	}}
	components["parameters"], components["headers"], components["responses"] = parameters(), headers(), responses()
	delete(d.root, "externalDocs")
	maps.Copy(d.root, object{
		"openapi": "3.1.0", "tags": listed, "security": []any{object{"accessToken": []any{}}},
		"servers": []any{object{"url": "/", "description": "production, or wherever this document is served", "x-internal": false}},
		"info": object{
			"title": "Lumbricary", "version": openapi.Version, "description": about, "summary": "The stock book of vermicomposting clubs.",
			"license": object{"name": "MIT", "identifier": "MIT"},
		},
	})
	return nil
}

// parameters are those that many operations have.
func parameters() object {
	header := func(name, description, example string) object {
		return object{"name": name, "in": "header", "description": description, "schema": object{"type": "string"}, "example": example}
	}
	match := header("If-Match", "ETag of what the caller read; the call is refused when it has changed since. * stands for whatever there is.", `"3-0f1e2d3c4b5a6978"`)
	match["required"] = true
	return object{
		"IfMatch": match,
		"Club": object{
			"name": "club", "in": "path", "required": true, "description": "Handle or id of the club.",
			"schema": object{"type": "string"}, "example": "harbour",
		},
		"Limit": object{
			"name": "limit", "in": "query", "description": "How many items the page may have.",
			"schema": object{"type": "integer", "format": "int32", "minimum": 1, "maximum": 100, "default": 50},
		},
		"Cursor": object{
			"name": "cursor", "in": "query", "description": "next_cursor of the page before; bound to the list and its filters.",
			"schema": object{"type": "string", "pattern": "^[A-Za-z0-9_-]+$"},
		},
		"Units": object{
			"name": "units", "in": "query", "description": "Units of the figures `{value, low, high, unit}` and of plain text, in place of the club's setting. Numbers whose names end in a unit stay in it.",
			"schema": object{"type": "string", "enum": []any{"metric", "us"}}, "example": "us",
		},
		"Explain": object{
			"name": "explain", "in": "query", "description": "Adds `explanation`: how each figure came about, with its formula and source, what went into it with its records, and the working. " +
				"1 puts the rows of long sums together, all lists each. With Accept: text/plain the explanation alone, as worked examples to do again on paper.",
			"schema": object{"type": "string", "enum": []any{"1", "all"}}, "example": "1",
		},
		"IdempotencyKey": header("Idempotency-Key", "Makes the call happen once: the same key and body get the first answer again. A quoted string of up to 255 characters, or a bare token; kept for 7 days.", `"5f0c7f9e-8a4e-4d3c-9a51-2f6a1c0b7d11"`),
		"IfNoneMatch":    header("If-None-Match", "ETags of answers that the caller has; answers 304 when one still holds.", `"3-0f1e2d3c4b5a6978"`),
	}
}

// headerNotes are the headers of answers, and what they say.
func headerNotes() map[string]string {
	return map[string]string{
		"Cache-Control":        "Who may keep the answer.",
		"Content-Disposition":  "Name of the file.",
		"ETag":                 "Strong, with the row's version, for what is stored; weak for what is derived.",
		"Idempotency-Replayed": "true when this is the first answer again.",
		"Link":                 "The next page, as rel=next (RFC 8288).",
		"Location":             "Address of what was made.",
		"RateLimit":            "How many calls are left and the seconds until all are there again (draft-ietf-httpapi-ratelimit-headers), where the service has limits.",
		"RateLimit-Policy":     "The allowance of calls and the seconds in which it fills.",
		"Retry-After":          "Seconds to wait.",
		"WWW-Authenticate":     "How to sign in (RFC 6750).",
		"X-Request-Id":         "Id of the request, as in the log.",
	}
}

func headers() object {
	all := object{}
	for name, description := range headerNotes() {
		all[name] = object{"description": description, "schema": object{"type": "string"}}
	}
	in(all, "Retry-After")["schema"] = object{"type": "integer", "format": "int32", "minimum": 0}
	in(all, "X-Request-Id")["schema"] = object{"type": "string", "format": "uuid"}
	in(all, "Idempotency-Replayed")["schema"] = object{"type": "string", "enum": []any{"true"}}
	return all
}

// headersNamed refers to the headers of those names.
func headersNamed(names ...string) object {
	some := object{}
	for _, name := range names {
		some[name] = object{"$ref": "#/components/headers/" + name}
	}
	return some
}

// responses are those that many operations have.
func responses() object {
	all := object{"NotModified": object{
		"description": "The caller has this answer already.", "headers": headersNamed(append(allowance(), "Cache-Control", "ETag", "X-Request-Id")...),
	}}
	for code, f := range failures() {
		all[f.name] = problemResponse(code, f)
	}
	return all
}

// encode writes the document: sorted names, two spaces, a line feed at the end.
// Errors: those of package json.
func (d *document) encode() ([]byte, error) {
	d.dropUnused()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(d.root)
	return b.Bytes(), err
}

// dropUnused leaves out components that nothing refers to; dropping one may
// free another.
func (d *document) dropUnused() {
	for range 3 {
		used := map[string]bool{}
		walk(d.root, func(o object) { used[text(o["$ref"])] = true })
		components := in(d.root, "components")
		for _, kind := range []string{"schemas", "parameters", "responses", "headers"} {
			for name := range in(components, kind) {
				if !used["#/components/"+kind+"/"+name] {
					delete(in(components, kind), name)
				}
			}
		}
	}
}
