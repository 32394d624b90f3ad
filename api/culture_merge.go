package api

import (
	"net/http"

	"lumbricary.example/service"
)

// NewMerger says into which culture one is merged.
type NewMerger struct {
	Into string `json:"into" example:"01970000-0000-7000-8000-000000000012" format:"uuid" validate:"required"`
}

// mergeCulture merges a culture into another.
//
//	@Summary		Merge a culture into another
//	@Description	For stewards, where two cultures turn out to be one. Both have one species. Its origins move to the other, and with them every share, copy and season at once. The merged culture stays as a name of the other, which no culture else may have: read by its id it says what it became part of, the list leaves it out, and an origin that names it belongs to the other. Unmerging takes it back. The answer is the other.
//	@ID				mergeCulture
//	@Tags			cultures
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string		true	"handle or id of the club"	example(harbour)
//	@Param			culture			path		string		true	"id of the culture"	format(uuid)
//	@Param			Idempotency-Key	header		string		false	"makes the call happen once; kept for 7 days"
//	@Param			merger			body		NewMerger	true	"into which"
//	@Success		200				{object}	Culture
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures/{culture}/merge [post]
func (s *Server) mergeCulture(r *request) (answer, error) {
	n, err := decode[NewMerger](r)
	if err != nil {
		return answer{}, err
	}
	c, err := s.MergeCulture(r.ctx, r.actor(), service.CultureID(r.param("culture")), service.CultureID(n.Into))
	return answer{status: http.StatusOK, version: c.Version, body: cultureOf(c)}, err
}

// unmergeCulture takes a merge back.
//
//	@Summary		Take a merge back
//	@Description	For stewards. The culture stands by itself again. Origins that went along with it go back, where they still belong to the culture that it became part of; what was added to that since stays there. The answer is the culture.
//	@ID				unmergeCulture
//	@Tags			cultures
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string		true	"handle or id of the club"	example(harbour)
//	@Param			culture			path		string		true	"id of the culture"	format(uuid)
//	@Param			Idempotency-Key	header		string		false	"makes the call happen once; kept for 7 days"
//	@Success		200				{object}	Culture
//	@Header			200				{string}	ETag	"version and hash"
//	@Failure		400,401,403,404,409,413,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/cultures/{culture}/unmerge [post]
func (s *Server) unmergeCulture(r *request) (answer, error) {
	c, err := s.UnmergeCulture(r.ctx, r.actor(), service.CultureID(r.param("culture")))
	return answer{status: http.StatusOK, version: c.Version, body: cultureOf(c)}, err
}
