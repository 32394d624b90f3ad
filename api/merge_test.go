package api

import (
	"bytes"
	"testing"
)

// The cases of RFC 7396, appendix A. Status: seen-transcription.
func TestAMergePatchDoesWhatTheStandardSays(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct{ target, patch, want string }{
		{`{"a":"b"}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"b"}`, `{"b":"c"}`, `{"a":"b","b":"c"}`},
		{`{"a":"b"}`, `{"a":null}`, `{}`},
		{`{"a":"b","b":"c"}`, `{"a":null}`, `{"b":"c"}`},
		{`{"a":["b"]}`, `{"a":"c"}`, `{"a":"c"}`},
		{`{"a":"c"}`, `{"a":["b"]}`, `{"a":["b"]}`},
		{`{"a":{"b":"c"}}`, `{"a":{"b":"d","c":null}}`, `{"a":{"b":"d"}}`},
		{`{"a":[{"b":"c"}]}`, `{"a":[1]}`, `{"a":[1]}`},
		{`["a","b"]`, `["c","d"]`, `["c","d"]`},
		{`{"a":"b"}`, `["c"]`, `["c"]`},
		{`{"a":"foo"}`, `null`, `null`},
		{`{"a":"foo"}`, `"bar"`, `"bar"`},
		{`{"e":null}`, `{"a":1}`, `{"e":null,"a":1}`},
		{`[1,2]`, `{"a":"b","c":null}`, `{"a":"b"}`},
		{`{}`, `{"a":{"bb":{"ccc":null}}}`, `{"a":{"bb":{}}}`},
	} {
		target, patch := tree(t, tt.target), tree(t, tt.patch)
		if got := written(merge(target, patch)); got != tt.want {
			t.Errorf("%s patched with %s is %s, want %s", tt.target, tt.patch, got, tt.want)
		}
		if got := written(target); got != tt.target {
			t.Errorf("%s was changed to %s", tt.target, got)
		}
	}
}

func TestAValueIsWrittenAsItWasRead(t *testing.T) {
	t.Parallel()
	for _, text := range []string{`{"a":[1.50,true,null,"\"\\\n"],"ü":{}}`, `[]`, `-0.1e7`, `""`} {
		if got := written(tree(t, text)); got != text {
			t.Errorf("%s comes back as %s", text, got)
		}
	}
}

func tree(t *testing.T, text string) *node {
	t.Helper()
	n, faults, err := parse([]byte(text))
	if err != nil || len(faults) > 0 {
		t.Fatalf("%s: %v %v", text, err, faults)
	}
	return n
}

func written(n *node) string {
	var b bytes.Buffer
	n.write(&b)
	return b.String()
}
