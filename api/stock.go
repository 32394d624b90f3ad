package api

import (
	"net/http"

	"lumbricary.example/service"
	"lumbricary.example/service/unit"
	"lumbricary.example/service/working"
)

// BinStock is what stands in a bin now, by the book.
type BinStock struct {
	Bin   Named           `json:"bin" validate:"required"`
	Stock []StandingStock `json:"stock" validate:"required"`
	BookG float64         `json:"book_g" example:"1200" validate:"required"` // all species together
	Explained
}

// StandingStock is the stock of one species in a bin.
type StandingStock struct {
	Species      Named           `json:"species" validate:"required"`
	IdentifiedAs *IdentifiedAs   `json:"identified_as" extensions:"x-nullable" validate:"required"` // null: nobody looked, and species is as booked
	BookG        float64         `json:"book_g" example:"750" validate:"required"`
	Lot          string          `json:"lot" example:"01970000-0000-7000-8000-000000000030" format:"uuid" validate:"required"`
	Origins      []LineageOrigin `json:"origins" validate:"required"`
}

func binStockOf(b service.BinStock) BinStock {
	out := BinStock{Bin: Named{string(b.Bin.ID), b.Bin.Name}, Stock: []StandingStock{}}
	var total unit.Mass
	for _, s := range b.Stands {
		total += s.Book
		out.Stock = append(out.Stock, StandingStock{
			Species: Named{string(s.Species), b.Names.Species[s.Species]}, IdentifiedAs: identifiedAsOf(s.Identified), BookG: s.Book.Grams(), Lot: string(s.Lot),
			Origins: originsOf(s.Shares, b.Names),
		})
	}
	out.BookG = total.Grams()
	return out
}

// getBinStock shows what stands in a bin.
//
//	@Summary		Show what stands in a bin
//	@Description	The book of each species now, its lot, and the origins it descends from.
//	@ID				getBinStock
//	@Tags			bins
//	@Produce		json,plain
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			bin			path		string	true	"id of the bin"
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{object}	BinStock
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/bins/{bin}/stock [get]
func (s *Server) getBinStock(r *request) (answer, error) {
	b, err := s.Reports.Stock(r.ctx, r.actor(), service.BinID(r.param("bin")))
	if err != nil {
		return answer{}, err
	}
	body := binStockOf(b)
	return r.explain(answer{status: http.StatusOK, body: &body}, func() ([]working.Figure, error) { return s.Reports.ExplainStock(r.ctx, r.actor(), b) })
}
