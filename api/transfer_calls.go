package api

import (
	"net/http"

	"lumbricary.example/service"
	"lumbricary.example/service/exchange"
)

func transferHead(t service.TransferSeen) head {
	return head{id: string(t.ID), version: t.Version, at: t.At.Time}
}

// proposeTransfer proposes a transfer, or tells a past one.
//
//	@Summary		Propose a transfer, or tell a past one
//	@Description	A sale, swap, gift or loan. What the proposer gives is reserved until it is sent, cancelled or expires; of a swap both legs, once it is accepted. With an outside party it is accepted at once. With done it has happened: it is booked as sent and received at its time, and told by who gave. Each side takes its own steps; stewards may for all.
//	@ID				proposeTransfer
//	@Tags			transfers
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string	false	"makes the call happen once; kept for 7 days"
//	@Param			transfer		body		NewTransfer	true	"the transfer"
//	@Success		201				{object}	Transfer
//	@Header			201				{string}	Location	"the transfer"
//	@Header			201				{string}	ETag		"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers [post]
func (s *Server) proposeTransfer(r *request) (answer, error) {
	given, err := decode[NewTransfer](r)
	if err != nil {
		return answer{}, err
	}
	t, err := s.Transfers.Propose(r.ctx, r.actor(), given.transfer())
	if err != nil {
		return r.again(err, func(id string) (answer, error) {
			t, err := s.Transfers.Get(r.ctx, r.actor(), service.TransferID(id))
			if err != nil {
				return answer{}, err
			}
			return r.transfer(http.StatusCreated, t)
		})
	}
	return r.transfer(http.StatusCreated, t)
}

// transfer answers with a transfer as it stands. Errors: r.err.
func (r *request) transfer(status int, t service.TransferSeen) (answer, error) {
	body := transferOf(t, r.zone())
	a := answer{status: status, version: t.Version, body: &body}
	if status == http.StatusCreated {
		a.location = r.path() + "/" + string(t.ID)
	}
	return r.explain(a, always(t.Workings()))
}

// listTransfers shows a page of the club's transfers.
//
//	@Summary		List transfers
//	@Description	In the order of their times.
//	@ID				listTransfers
//	@Tags			transfers
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			member			query		string	false	"in which that member is a side"	format(uuid)
//	@Param			bin				query		string	false	"of which a leg names that bin"	format(uuid)
//	@Param			terms			query		string	false	"on those terms"	Enums(sale, swap, gift, loan)
//	@Param			state			query		string	false	"that stand so now"	Enums(proposed, accepted, dispatched, received, owed, returned, declined, cancelled, expired)
//	@Param			open			query		bool	false	"true: only those of which something is still to happen"	default(false)
//	@Param			from			query		string	false	"not before that time, or that day in the club's time zone"	example(2026-04-01)
//	@Param			to				query		string	false	"before that time, or that day in the club's time zone"	example(2026-05-01)
//	@Param			order			query		string	false	"oldest, unless newest first is asked for"	Enums(oldest, newest)	default(oldest)
//	@Param			limit			query		int		false	"items on the page"	minimum(1)	maximum(100)	default(50)
//	@Param			cursor			query		string	false	"next_cursor of the page before"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Page[Transfer]
//	@Header			200				{string}	Link	"the next page, as rel=next"
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers [get]
func (s *Server) listTransfers(r *request) (answer, error) {
	q, err := r.query("member", "bin", "terms", "state", "open", "from", "to", "order")
	if err != nil {
		return answer{}, err
	}
	more := q.Query
	more.Limit++ // one more tells whether there is a next page
	items, err := s.Transfers.List(r.ctx, r.actor(), more, exchange.State(q.values.Get("state")), q.OpenOn != "")
	if err != nil {
		return answer{}, err
	}
	a := page(r, q, items, transferHead, inZone(r, transferOf))
	return a, r.err
}

// getTransfer shows one transfer.
//
//	@Summary		Show a transfer
//	@Description	As it stands now. Prices and contacts are shown to the sides and to stewards. One that isn't there, or is another club's, answers 404.
//	@ID				getTransfer
//	@Tags			transfers
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer		path		string	true	"id of the transfer"	format(uuid)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	Transfer
//	@Header			200				{string}	ETag	"version and hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer} [get]
func (s *Server) getTransfer(r *request) (answer, error) {
	t, err := s.Transfers.Get(r.ctx, r.actor(), service.TransferID(r.param("transfer")))
	if err != nil {
		return answer{}, err
	}
	return r.transfer(http.StatusOK, t)
}

// forgetContact forgets how to reach a party.
//
//	@Summary		Forget a contact
//	@Description	Takes the contact of the outside party away, as when the person asks for it. By the sides and stewards.
//	@ID				forgetContact
//	@Tags			transfers
//	@Produce		json
//	@Security		bearer
//	@Param			club		path		string	true	"handle or id of the club"	example(harbour)
//	@Param			transfer	path		string	true	"id of the transfer"	format(uuid)
//	@Param			If-Match	header		string	true	"ETag of what the caller read, or *"
//	@Success		200			{object}	Transfer
//	@Header			200			{string}	ETag	"version and hash"
//	@Failure		401,403,404,412,428,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/transfers/{transfer}/contact [delete]
func (s *Server) forgetContact(r *request) (answer, error) {
	seen, err := s.getTransfer(r)
	if err != nil {
		return answer{}, err
	}
	body, err := encode(seen.body)
	if err != nil {
		return answer{}, err
	}
	if err := r.guard(tag(seen.version, body)); err != nil {
		return answer{}, err
	}
	t, err := s.Transfers.ForgetContact(r.ctx, r.actor(), service.TransferID(r.param("transfer")), seen.version)
	if err != nil {
		return answer{}, err
	}
	return r.transfer(http.StatusOK, t)
}
