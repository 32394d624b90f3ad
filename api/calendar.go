package api

import (
	"net/http"
	"strings"
	"time"

	"lumbricary.example/api/ical"
	"lumbricary.example/service"
)

// NewCalendar is what linking a calendar takes.
type NewCalendar struct {
	Name  string `json:"name" example:"My phone" maxLength:"80" validate:"required"`
	Whose string `json:"whose,omitempty" example:"mine" enums:"mine,club" default:"mine"` // mine: what is the caller's; club: of the whole club, for stewards
}

// Calendar is a private link to a due list.
type Calendar struct {
	ID        string     `json:"id" example:"01970000-0000-7000-8000-000000000021" format:"uuid" validate:"required"`
	Name      string     `json:"name" example:"My phone" validate:"required"`
	Member    string     `json:"member" example:"01970000-0000-7000-8000-000000000010" format:"uuid" validate:"required"` // whose it is
	Whose     string     `json:"whose" example:"mine" enums:"mine,club" validate:"required"`
	CreatedAt time.Time  `json:"created_at" example:"2026-05-01T08:00:00Z" format:"date-time" validate:"required"`
	RevokedAt *time.Time `json:"revoked_at" example:"2026-06-01T08:00:00Z" format:"date-time" extensions:"x-nullable" validate:"required"`
	Link      *string    `json:"link" example:"https://worms.example/v1/calendars/harbour/lbc_0123456789ABCDEFGHJKMNPQRSTVWXYZ0123456789ABCDEFGHJKMNPQRS.ics" format:"uri" extensions:"x-nullable" validate:"required"` // shown once, when it is made
}

func calendarOf(c service.Calendar, link string) Calendar {
	out := Calendar{
		ID: string(c.ID), Name: c.Name, Member: string(c.Member), Whose: "mine", CreatedAt: c.CreatedAt, RevokedAt: timeOrNull(c.RevokedAt), Link: orNull(link),
	}
	if c.Whole {
		out.Whose = "club"
	}
	return out
}

func (s *Server) calendars(*request) noun[service.Calendar, service.CalendarID, NewCalendar, Calendar] {
	return noun[service.Calendar, service.CalendarID, NewCalendar, Calendar]{
		name: "calendar", shelf: s.Calendars.Shelf, voids: true,
		out:  func(c service.Calendar) Calendar { return calendarOf(c, "") },
		head: func(c service.Calendar) head { return head{id: string(c.ID), version: c.Version} },
	}
}

// addCalendar makes a private link to the due list.
//
//	@Summary		Link a calendar
//	@Description	Gives a private link by which a calendar program reads the due list: the caller's, or the whole club's for stewards. Whoever has the link can read it, so it is shown once; a replay by Idempotency-Key shows null in its place. It ends when it is revoked and with the membership.
//	@ID				addCalendar
//	@Tags			due
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club									path		string		true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key							header		string		false	"makes the call happen once; kept for 7 days"
//	@Param			calendar								body		NewCalendar	true	"the calendar"
//	@Success		201										{object}	Calendar
//	@Header			201										{string}	Location	"the calendar, but for its link"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/calendars [post]
func (s *Server) addCalendar(r *request) (answer, error) {
	in, err := decode[NewCalendar](r)
	if err != nil {
		return answer{}, err
	}
	switch in.Whose {
	case "", "mine", "club":
	default:
		var faults service.Faults
		faults.Add("/whose", "unknown", "use one of mine, club")
		return answer{}, faults.Err()
	}
	made, secret, err := s.Calendars.Link(r.ctx, r.actor(), in.Name, in.Whose == "club")
	link := s.PublicURL + "/v1/calendars/" + r.param("club") + "/" + secret + calendarSuffix
	return answer{
		status: http.StatusCreated, location: r.path() + "/" + string(made.ID), body: calendarOf(made, link), kept: calendarOf(made, ""),
	}, err
}

// listCalendars shows a page of the calendars that the caller may see.
//
//	@Summary		List calendars
//	@Description	Members see their own, stewards all; in the order of their ids, past ones too.
//	@ID				listCalendars
//	@Tags			due
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Calendar]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/calendars [get]
func (s *Server) listCalendars(r *request) (answer, error) { return s.calendars(r).list(r) }

// getCalendar shows one calendar, but for its link.
//
//	@Summary		Show a calendar
//	@Description	One that isn't there, or isn't the caller's to see, answers 404.
//	@ID				getCalendar
//	@Tags			due
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			calendar		path		string	true	"id of the calendar"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Calendar
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,403,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/calendars/{calendar} [get]
func (s *Server) getCalendar(r *request) (answer, error) { return s.calendars(r).get(r) }

// revokeCalendar ends a calendar.
//
//	@Summary		Revoke a calendar
//	@Description	Its link is good for nothing from then on; it stays on the list.
//	@ID				revokeCalendar
//	@Tags			due
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			calendar	path		string	true	"id of the calendar"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		200			{object}	Calendar
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		401,403,404,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/calendars/{calendar} [delete]
func (s *Server) revokeCalendar(r *request) (answer, error) { return s.calendars(r).remove(r) }

// calendarSuffix ends a link, for programs that go by the end of an address.
const calendarSuffix = ".ics"

// readCalendar answers a calendar program.
//
//	@Summary		Read the due list as a calendar
//	@Description	The due list behind a private link as iCalendar (RFC 5545): events of whole days, 60 days ahead; what is overdue stands on today. It names bins and cultures, no persons. A link that is none, was revoked or is another club's answers 404.
//	@ID				readCalendar
//	@Tags			due
//	@Produce		text/calendar
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			link			path		string	true	"the secret part of the link, with or without .ics"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		404,500,503	{object}	Problem
//	@Router			/v1/calendars/{club}/{link} [get]
func (s *Server) readCalendar(r *request) (answer, error) {
	list, err := s.Calendars.Read(r.ctx, r.param("club"), strings.TrimSuffix(r.param("link"), calendarSuffix))
	if err != nil {
		return answer{}, err
	}
	return answer{status: http.StatusOK, raw: calendarFeed(list).Encode(), media: "text/calendar; charset=utf-8"}, nil
}

// calendarFeed is a due list as a calendar: what is overdue stands on today,
// where it is seen.
func calendarFeed(l service.DueList) ical.Calendar {
	words := dueWords{l, l.Club.Units}
	out := ical.Calendar{Name: l.Club.Name + ": due", Product: "-//Lumbricary//Due list//EN"}
	for _, i := range l.Items {
		e := ical.Event{
			UID: i.Key() + "@" + string(l.Club.ID), Day: max(i.Day, string(l.Today)), Stamp: i.Since, Kind: string(i.Kind),
			Summary: words.title(i), Detail: words.detail(i),
		}
		if e.Stamp == "" {
			e.Stamp = i.Day
		}
		if i.Day < string(l.Today) {
			e.Detail += "; due since " + i.Day
		}
		out.Events = append(out.Events, e)
	}
	return out
}
