package api

import "testing"

func TestWhatIsOnRecordHasAllThatWasSent(t *testing.T) {
	t.Parallel()
	const recorded = `{"id":"a","mass":{"value":1500,"unit":"g"},"tags":["x","y"],"note":null,"wet":true,"more":1}`
	for sent, want := range map[string]bool{
		`{}`:                         true,
		`{"id":"a","note":null}`:     true,
		`{"mass":{"value":1.5e3}}`:   true,
		`{"tags":["x","y"]}`:         true,
		`{"wet":null}`:               true,
		`{"id":"b"}`:                 false,
		`{"note":"x"}`:               false,
		`{"mass":{"value":1501}}`:    false,
		`{"mass":1500}`:              false,
		`{"tags":["x"]}`:             false,
		`{"tags":["x","y","z"]}`:     false,
		`{"tags":["y","x"]}`:         false,
		`{"unknown":1}`:              false,
		`{"mass":{"unit":"kg"}}`:     false,
		`{"tags":{"0":"x","1":"y"}}`: false,
		`{"wet":false}`:              false,
	} {
		a, _, errA := parse([]byte(sent))
		b, _, errB := parse([]byte(recorded))
		if errA != nil || errB != nil || a.within(b) != want {
			t.Errorf("%s: %v, %v, %v", sent, !want, errA, errB)
		}
	}
}
