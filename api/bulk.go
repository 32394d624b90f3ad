package api

import (
	"net/http"
	"strings"

	"lumbricary.example/service"
)

// NewRecords is dated records that are made together: 1 to 1,000 in all.
type NewRecords struct {
	Receipts   []NewReceipt    `json:"receipts,omitempty"`
	Movements  []NewMovement   `json:"movements,omitempty"`
	Harvests   []NewHarvest    `json:"harvests,omitempty"`
	Reworks    []NewRework     `json:"reworks,omitempty"`
	Censuses   []NewCensus     `json:"censuses,omitempty"`
	Feedings   []NewFeeding    `json:"feedings,omitempty"`
	Checks     []NewCheck      `json:"checks,omitempty"`
	Contacts   []NewBinContact `json:"contacts,omitempty"`
	Clearings  []NewClearing   `json:"clearings,omitempty"`
	BatchSteps []NewBatchStep  `json:"batch_steps,omitempty"`
}

// Records is what was recorded together, each kind in the order of the call.
type Records struct {
	Receipts   []Receipt    `json:"receipts" validate:"required"`
	Movements  []Movement   `json:"movements" validate:"required"`
	Harvests   []Harvest    `json:"harvests" validate:"required"`
	Reworks    []Rework     `json:"reworks" validate:"required"`
	Censuses   []Census     `json:"censuses" validate:"required"`
	Feedings   []Feeding    `json:"feedings" validate:"required"`
	Checks     []Check      `json:"checks" validate:"required"`
	Contacts   []BinContact `json:"contacts" validate:"required"`
	Clearings  []Clearing   `json:"clearings" validate:"required"`
	BatchSteps []BatchStep  `json:"batch_steps" validate:"required"`
}

// addRecords records many things at once.
//
//	@Summary		Record many things at once
//	@Description	Up to 1,000 receipts, movements, harvests, reworks, censuses, feedings, checks, batch steps, contacts and clearings, all or none, in 1 MiB. Receipts are recorded first, so that feedings of the same call may name them; all else in the order of their times, whatever their order in the call. Every record at fault is told, by pointers that lead with its place, as /feedings/3/items/0/quantity.
//	@ID				addRecords
//	@Tags			records
//	@Accept			json
//	@Produce		json
//	@Security		bearer
//	@Param			club			path		string		true	"handle or id of the club"	example(harbour)
//	@Param			Idempotency-Key	header		string		false	"makes the call happen once; kept for 7 days"
//	@Param			Late-Reason		header		string	false	"why a steward writes into closed books; may be percent-encoded"	maxLength(2000)
//	@Param			records			body		NewRecords	true	"the records"
//	@Success		201				{object}	Records
//	@Header			201				{string}	ETag	"weak: a hash"
//	@Failure		400,401,403,404,409,413,415,422,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/records [post]
func (s *Server) addRecords(r *request) (answer, error) {
	n, err := decode[NewRecords](r)
	if err != nil {
		return answer{}, err
	}
	movements, harvests, censuses, feedings, checks := s.movements(r), s.harvests(r), s.censuses(r), s.feedings(r), s.checks(r)
	receipts, reworks, steps := s.receipts(r), s.reworks(r), s.batchSteps(r)
	contacts, clearings := s.contacts(r), s.clearings(r)
	out, err := s.Records.RecordAll(r.ctx, r.actor(), service.Bulk{
		Movements: rowsOf(n.Movements, movements.in), Harvests: rowsOf(n.Harvests, harvests.in), Censuses: rowsOf(n.Censuses, censuses.in),
		Feedings: rowsOf(n.Feedings, feedings.in), Checks: rowsOf(n.Checks, checks.in),
		Receipts: rowsOf(n.Receipts, receipts.in), Reworks: rowsOf(n.Reworks, reworks.in), BatchSteps: rowsOf(n.BatchSteps, steps.in),
		Contacts: rowsOf(n.Contacts, contacts.in), Clearings: rowsOf(n.Clearings, clearings.in),
	})
	if err != nil {
		return answer{}, repointedRows(err, map[string]map[string]string{
			"movements": movements.named, "harvests": harvests.named, "checks": checks.named,
		})
	}
	body := Records{
		Movements: rowsOf(out.Movements, movements.out), Harvests: rowsOf(out.Harvests, harvests.out), Censuses: rowsOf(out.Censuses, censuses.out),
		Feedings: rowsOf(out.Feedings, feedings.out), Checks: rowsOf(out.Checks, checks.out),
		Receipts: rowsOf(out.Receipts, receipts.out), Reworks: rowsOf(out.Reworks, reworks.out), BatchSteps: rowsOf(out.BatchSteps, steps.out),
		Contacts: rowsOf(out.Contacts, contacts.out), Clearings: rowsOf(out.Clearings, clearings.out),
	}
	return answer{status: http.StatusCreated, body: body}, r.err
}

// repointedRows is repointed for the rows of several nouns: /checks/2/leachate_l
// is about what the wire calls /checks/2/leachate.
func repointedRows(err error, named map[string]map[string]string) error {
	return repointedBy(err, func(pointer string) string {
		parts := strings.SplitN(pointer, "/", 4)
		if len(parts) < 4 {
			return pointer
		}
		if name, ok := named[parts[1]]["/"+parts[3]]; ok {
			return "/" + parts[1] + "/" + parts[2] + name
		}
		return pointer
	})
}
