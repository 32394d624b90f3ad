package api

import (
	"net/http"
	"net/url"
	"strconv"

	"lumbricary.example/api/picture"
	"lumbricary.example/service"
	"lumbricary.example/service/unit"
)

// pictureCSP lets a picture have its own style and nothing else.
const pictureCSP = "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'"

func pictureAnswer(svg []byte) answer {
	return answer{status: http.StatusOK, raw: svg, media: picture.Media}
}

// setting is a whole number that a picture can be asked for with.
type setting struct {
	name             string
	low, high, usual int
}

// pictureWidth is how wide a picture is, in pixels.
func pictureWidth() setting { return setting{"width", 320, 1600, 720} }

// settings reads whole numbers from the query, which may have no other
// parameter than these and units. Errors: ErrMalformed.
func (r *request) settings(of ...setting) (map[string]int, error) {
	values, err := url.ParseQuery(r.gin.Request.URL.RawQuery)
	if err != nil {
		return nil, service.ErrMalformed.With("the query can't be read").Because(err)
	}
	out := map[string]int{}
	var faults service.Faults
	for _, s := range of {
		given := values[s.name]
		delete(values, s.name)
		out[s.name] = s.usual
		if len(given) == 0 {
			continue
		}
		n, err := strconv.Atoi(given[0])
		out[s.name] = n
		if err != nil || len(given) > 1 || n < s.low || n > s.high {
			faults.Add("?"+s.name, "range", "give one whole number from %d to %d", s.low, s.high)
		}
	}
	for _, name := range sortedKeys(values) {
		if name != "units" {
			faults.Add("?"+name, "unknown", "this picture has no such parameter")
		}
	}
	if len(faults) > 0 {
		return nil, unreadable(faults)
	}
	return out, nil
}

// kilos is a mass in the large unit of a system: kg or lb.
func kilos(m unit.Mass, in unit.System) float64 {
	return unit.Of(m.Kilograms(), "kg", "").In(in).Value
}
