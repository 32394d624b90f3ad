package api

import "time"

type flags uint8

const (
	public flags = 1 << iota
	secret
	bare
)

const (
	get  = "GET"
	post = "POST"
)

type route struct {
	method, path string
	handle       func()
	flags        flags
}

func routes() []route {
	return []route{
		{get, "/health", health, public},
		{get, "/v1/clubs/{club}/bins", listBins, 0},
		{post, "/v1/clubs/{club}/bins", addBin, 0},
		{get, "/v1/clubs/{club}/bins/{bin}", getBin, 0},
		{post, "/v1/clubs/{club}/bins/{bin}/key", makeKey, bare | secret},
	}
}

// NewBin is a bin as a caller adds it.
type NewBin struct {
	Name  string   `json:"name" example:"Tote 3" validate:"required"`
	Note  string   `json:"note,omitempty"`
	Depth *float64 `json:"depth_cm" example:"30" minimum:"0" maximum:"99.5"`
	Fed   Amount   `json:"fed" units:"mass volume" validate:"required"`
	Kind  string   `json:"kind,omitempty" enums:"tote,bag"`
}

// Amount is a number with its unit.
type Amount struct {
	Value float64 `json:"value" example:"1.5" validate:"required"`
	Unit  string  `json:"unit" example:"kg" validate:"required"`
}

// head is what records have.
type head struct {
	ID string    `json:"id" format:"uuid"`
	At time.Time `json:"at"`
}

// Bin is a container of worms.
type Bin struct {
	head
	Name   string     `json:"name" example:"Tote 3"`
	Worms  int64      `json:"worms" example:"900"`
	Gone   *time.Time `json:"gone"`
	Last   *Amount    `json:"last"`
	Note   string     `json:"note,omitempty"`
	Shares []float64  `json:"shares"`
}

// Page is a part of a list.
type Page[W any] struct {
	Items []W     `json:"items"`
	Next  *string `json:"next_cursor"`
}

// Problem is an RFC 9457 problem document.
type Problem struct {
	Type      string `json:"type"`
	Title     string `json:"title"`
	Status    int    `json:"status"`
	Detail    string `json:"detail,omitempty"`
	Instance  string `json:"instance"`
	RequestID string `json:"request_id"`
}

// health tells how the service is.
//
//	@Summary	Tell how the service is
//	@ID			getHealth
//	@Tags		service
//	@Produce	json
//	@Success	200	{object}	Amount
//	@Failure	500	{object}	Problem
//	@Router		/health [get]
func health() {}

// listBins shows a page.
//
//	@Summary	List bins
//	@ID			listBins
//	@Tags		bins
//	@Param		kind	query		string	false	"of this kind"
//	@Success	200		{object}	Page[Bin]
//	@Router		/v1/clubs/{club}/bins [get]
func listBins() {}

// addBin records a bin.
//
//	@Summary	Add a bin
//	@ID			addBin
//	@Tags		bins
//	@Accept		json
//	@Param		bin		body		NewBin	true	"the bin"
//	@Success	201		{object}	Bin
//	@Header		201		{string}	Location	"the bin"
//	@Failure	400,410	{object}	Problem
//	@Failure	409		{object}	Problem	"another bin has that name"
//	@Router		/v1/clubs/{club}/bins [post]
func addBin() {}

// getBin shows a bin.
//
//	@Summary	Show a bin
//	@ID			getBin
//	@Tags		bins
//	@Param		club	path		string	true	"the club"
//	@Param		bin		path		string	true	"id of the bin"	format(uuid)
//	@Success	200		{object}	Bin
//	@Success	304		"unchanged"
//	@Router		/v1/clubs/{club}/bins/{bin} [get]
func getBin() {}

// makeKey makes a key.
//
//	@Summary	Make a key
//	@ID			makeKey
//	@Tags		bins
//	@Success	201	{object}	Amount
//	@Router		/v1/clubs/{club}/bins/{bin}/key [post]
func makeKey() {}
