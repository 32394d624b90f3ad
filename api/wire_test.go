package api

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/service"
)

func TestWhatIsSentComesBack(t *testing.T) {
	t.Parallel()
	goesRound(t, NewAccount{}, func(n NewAccount) Account {
		return accountOf(service.Account{Email: n.Email, Name: n.Name})
	}, "passphrase")
	goesRound(t, NewClub{}, func(n NewClub) Club { return clubOf(n.club()) })
	goesRound(t, NewMember{}, func(n NewMember) Member { return memberOf(n.member()) })
	goesRound(t, NewInvitation{}, func(n NewInvitation) Invitation { return invitationOf(n.invitation(), "") })
	goesRound(t, NewSite{}, func(n NewSite) Site { return siteOf(n.site()) })
	goesRound(t, NewBin{}, func(n NewBin) Bin {
		b := n.bin()
		b.Started, b.Retired = settled(b.Started), settled(b.Retired)
		return binOf(b, time.UTC)
	})
	goesRound(t, NewMaterial{}, func(n NewMaterial) Material { return materialOf(n.material()) })
	goesRound(t, NewMeasure{}, func(n NewMeasure) Measure { return measureOf(n.measure()) })
	goesRound(t, NewCulture{}, func(n NewCulture) Culture { return cultureOf(n.culture()) })
	goesRound(t, NewOrigin{}, func(n NewOrigin) Origin { return originOf(n.origin()) })
}

func TestNothingOnRecordIsForgotten(t *testing.T) {
	t.Parallel()
	showsAll(t, accountOf, "PassphraseHash")
	showsAll(t, clubOf, "Version")
	showsAll(t, memberOf, "Version")
	showsAll(t, func(i service.Invitation) Invitation { return invitationOf(i, "") }, "CodeHash", "Version")
	showsAll(t, func(k service.APIKey) APIKey { return apiKeyOf(k, "") }, "Hash", "Version")
	showsAll(t, func(c service.Calendar) Calendar { return calendarOf(c, "") }, "Hash", "Version")
	showsAll(t, func(h service.Webhook) Webhook { return webhookOf(h, "") }, "Generation", "Version")
	showsAll(t, func(d service.Delivery) Delivery {
		d.Body = fmt.Sprintf("%q", d.Body)
		return deliveryOf(d)
	}, "Version")
	showsAll(t, siteOf, "Version")
	showsAll(t, auditEntryOf, "Before", "After")
	showsAll(t, erasureOf)
	showsAll(t, func(r service.PersonalRecord) PersonalRecord { return personalRecordOf(r, time.UTC) })
	showsAll(t, func(m service.Mention) Mention {
		return erasedMemberOf(service.Erased{Mentions: []service.Mention{m}}).Mentions[0]
	})
	showsAll(t, func(b service.Bin) Bin { return binOf(b, time.UTC) }, "Version")
	showsAll(t, materialOf, "Version")
	showsAll(t, measureOf, "Version")
	showsAll(t, cultureOf, "Version")
	showsAll(t, originOf, "Version")
}

func TestADayIsShownInTheClubsZone(t *testing.T) {
	t.Parallel()
	zone := time.FixedZone("UTC+13", 13*3600)
	noon := time.Date(2026, 4, 20, 12, 0, 0, 0, zone)
	b := binOf(service.Bin{
		Started: service.Moment{Time: noon.UTC(), Precision: service.ToTheDay},
		Retired: service.Moment{Time: noon.UTC(), Precision: service.ToTheInstant},
	}, zone)
	if b.Started != "2026-04-20" || b.StartedPrecision != "day" || *b.Retired != "2026-04-19T23:00:00Z" || *b.RetiredPrecision != "instant" {
		t.Errorf("%+v", b)
	}
}

// settled reads a moment's text as a use-case does.
func settled(m service.Moment) service.Moment {
	out, err := service.ParseMoment(m.Text, time.UTC, time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC))
	if err != nil {
		panic(err)
	}
	return out
}

// goesRound fills every member of N, sends it through the domain, and looks for
// it in what comes back; except members are only taken.
func goesRound[N, W any](t *testing.T, given N, through func(N) W, except ...string) {
	t.Helper()
	n := 0
	fill(reflect.ValueOf(&given).Elem(), &n)
	sent, back := members(t, given), members(t, through(given))
	for name, want := range sent {
		if !slices.Contains(except, name) && !reflect.DeepEqual(back[name], want) {
			t.Errorf("%T: %s was sent as %v and comes back as %v", given, name, want, back[name])
		}
	}
}

// showsAll blanks each field of a full T in turn, except some, and wants to see
// a difference on the wire.
func showsAll[T, W any](t *testing.T, out func(T) W, except ...string) {
	t.Helper()
	var full T
	n := 0
	fill(reflect.ValueOf(&full).Elem(), &n)
	whole := members(t, out(full))
	for _, f := range reflect.VisibleFields(reflect.TypeFor[T]()) {
		less := full
		reflect.ValueOf(&less).Elem().FieldByIndex(f.Index).SetZero()
		if reflect.DeepEqual(members(t, out(less)), whole) != slices.Contains(except, f.Name) {
			t.Errorf("%T.%s: shown is not what was expected", full, f.Name)
		}
	}
}

func members(t *testing.T, v any) map[string]any {
	t.Helper()
	body, err := encode(v)
	if err != nil {
		t.Fatal(err)
	}
	var m map[string]any
	if err := json.Unmarshal(body, &m); err != nil {
		t.Fatal(err)
	}
	return m
}

// fill gives every field a value of its own. A text of a name that ends in a
// moment's is a time.
func fill(v reflect.Value, n *int) {
	*n++
	switch v.Kind() { //nolint:exhaustive // whole numbers are the rest
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(v.Elem(), n)
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			v.Set(reflect.ValueOf(time.Date(2026, 5, 1, 8, *n, 0, 0, time.UTC)))
			return
		}
		for i := range v.NumField() {
			fill(v.Field(i), n)
			if name := v.Type().Field(i).Name; v.Field(i).Kind() == reflect.String && slices.Contains([]string{"At", "Started", "Retired"}, name) {
				v.Field(i).SetString(fmt.Sprintf("2026-04-%02d", 1+*n%28))
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fill(v.Index(0), n)
		fill(v.Index(1), n)
	case reflect.String:
		v.SetString("text" + strings.Repeat("i", *n))
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Float64:
		v.SetFloat(float64(*n) + 0.5)
	default:
		v.SetInt(int64(*n))
	}
}
