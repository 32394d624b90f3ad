package api

import (
	"slices"
	"strings"

	"lumbricary.example/api/picture"
	"lumbricary.example/service"
	"lumbricary.example/service/lineage"
	"lumbricary.example/service/unit"
)

// drawLineage draws where a lot came from.
//
//	@Summary		Draw where a lot came from
//	@Description	A graph in layers as SVG, light or dark as the reader's screen, with a text alternative: origins, the lots on the way, and the lot itself at the bottom; each with how much of the lot descends from it. Where there are more lots than are drawn, the earliest are left out, and the picture says how many and where to list them. To an API key for figures alone members are pseudonyms, and things have labels for names.
//	@ID				drawLineage
//	@Tags			lots
//	@Produce		image/svg+xml
//	@Security		bearer
//	@Param			club			path		string	true	"handle or id of the club"	example(harbour)
//	@Param			lot			path		string	true	"id of the lot"
//	@Param			nodes			query		int		false	"lots and origins at most"	minimum(2)	maximum(200)	default(60)
//	@Param			width			query		int		false	"pixels, at least"	minimum(320)	maximum(1600)	default(720)
//	@Param			If-None-Match	header		string	false	"ETag of an answer the caller has"
//	@Success		200				{string}	string
//	@Header			200				{string}	ETag	"weak: a hash"
//	@Success		304				"unchanged"
//	@Failure		400,401,404,500,503	{object}	Problem
//	@Router			/v1/clubs/{club}/lots/{lot}/lineage.svg [get]
func (s *Server) drawLineage(r *request) (answer, error) {
	set, err := r.settings(setting{"nodes", 2, 200, 60}, pictureWidth())
	if err != nil {
		return answer{}, err
	}
	a, err := s.Reports.Ancestry(r.ctx, r.actor(), service.LotID(r.param("lot")))
	if err != nil {
		return answer{}, err
	}
	rest := strings.TrimSuffix(r.path(), "/lineage.svg") + "/upstream"
	p := &ancestryPicture{lineageText: lineageText{l: a.LotLineage, in: r.units()}, a: a, rest: rest}
	svg, err := p.graph(set["nodes"]).Draw(float64(set["width"]))
	if err != nil {
		return answer{}, err
	}
	return pictureAnswer(svg), r.err
}

// ancestryPicture is the lineage of a lot on its way to a graph. It calls things
// as the lineage's text does.
type ancestryPicture struct {
	lineageText
	a     service.Ancestry
	rest  string // the address that lists what isn't drawn
	steps []service.CustodyStep
	drawn map[string]bool // ids of the lots of steps
	nodes map[string]int  // by key
	out   picture.Graph
}

// graph draws so many nodes at most.
func (p *ancestryPicture) graph(most int) picture.Graph {
	p.steps = newest(p.a.Custody, most)
	p.drawn, p.nodes = map[string]bool{}, map[string]int{}
	for _, s := range p.steps {
		p.drawn[s.Lot.ID] = true
	}
	for _, s := range p.steps {
		for _, parent := range s.Lot.Parents {
			p.source(parent)
		}
	}
	for _, s := range p.steps {
		p.lot(s)
	}
	p.words()
	return p.out
}

// newest are the last steps, as many as leave room for the origins of them and
// for one node that stands for the rest.
func newest(all []service.CustodyStep, most int) []service.CustodyStep {
	origins := map[string]bool{}
	for from := len(all) - 1; from >= 0; from-- {
		for _, parent := range all[from].Lot.Parents {
			if parent.Lot == "" {
				origins[parent.Origin] = true
			}
		}
		rest := min(from, 1)
		if drawn := len(all) - from; drawn > 1 && drawn+len(origins)+rest > most {
			return all[from+1:]
		}
	}
	return all
}

// others is the key of all lots that aren't drawn.
const others = "others"

// key tells which node a parent is.
func (p *ancestryPicture) key(of lineage.Parent) string {
	switch {
	case of.Lot == "":
		return "origin " + of.Origin
	case p.drawn[of.Lot]:
		return of.Lot
	}
	return others
}

func (p *ancestryPicture) add(key string, n picture.Node) {
	p.nodes[key] = len(p.out.Nodes)
	n.Tip = n.Name + ": " + strings.Join(n.Lines, ", ")
	p.out.Nodes = append(p.out.Nodes, n)
}

// source adds the node of a parent that is no lot of the steps.
func (p *ancestryPicture) source(of lineage.Parent) {
	key := p.key(of)
	if _, known := p.nodes[key]; known || p.drawn[of.Lot] {
		return
	}
	if key == others {
		p.add(key, picture.Node{Kind: picture.Rest, Name: p.undrawn(), Lines: []string{"not drawn: see below"}})
		return
	}
	o, known := p.l.Names.Origins[service.OriginID(of.Origin)]
	n := picture.Node{Kind: picture.Root, Name: "Unknown origin"}
	if known {
		n.Name, n.Lines = o.Name, []string{"origin: " + string(o.Kind)}
	}
	if c, ok := p.l.Names.Cultures[o.Culture]; ok && known {
		n.Lines = append(n.Lines, c.Name)
	}
	var parts int64
	for _, s := range p.l.Lot.Shares {
		if s.Origin == of.Origin {
			parts = s.Parts
		}
	}
	n.Lines = append(n.Lines, percent(parts, lineage.One)+" of this lot")
	p.add(key, n)
}

// undrawn says how many lots aren't drawn.
func (p *ancestryPicture) undrawn() string {
	n := count(p.a.Upstream+1-len(p.steps), "earlier lot", "earlier lots")
	if p.a.More {
		return "Over " + n
	}
	return n
}

// lot adds the node of a step, and the edges that lead to it: one from each
// node, however many lots that stands for.
func (p *ancestryPicture) lot(s service.CustodyStep) {
	n := picture.Node{Kind: picture.Ordinary, Name: p.bin(s.Lot.Place.Bin)}
	n.Lines = []string{p.member(s.Lot.Member), weight(s.Lot.Mass, p.in) + " · " + p.day(s.Lot)}
	if s.Lot.ID == p.l.Lot.ID {
		n.Kind, n.Lines = picture.Goal, append(n.Lines, "this lot")
	} else {
		n.Lines = append(n.Lines, percent(p.a.Parts[service.LotID(s.Lot.ID)], lineage.One)+" of this lot")
	}
	p.add(s.Lot.ID, n)
	came, order := map[string]unit.Mass{}, []string(nil)
	for _, parent := range s.Lot.Parents {
		key := p.key(parent)
		if _, met := came[key]; !met {
			order = append(order, key)
		}
		came[key] += parent.Mass
	}
	for _, key := range order {
		p.out.Edges = append(p.out.Edges, picture.Edge{
			From: p.nodes[key], To: p.nodes[s.Lot.ID], Label: weight(came[key], p.in), Stays: p.parent(key) == s.Lot.Place.Bin,
		})
	}
}

func (p *ancestryPicture) day(l service.Lot) string {
	return l.OpenedAt.In(p.l.Club.Zone()).Format("2 Jan 2006")
}

// words say what the picture shows.
func (p *ancestryPicture) words() {
	out := &p.out.Words
	out.Title = "Where the " + p.species() + " in " + p.bin(p.l.Lot.Place.Bin) + " came from"
	out.Under = p.l.Club.Name + " · each lot with its keeper, its mass and date when it began, and how much of this lot descends from it"
	if p.l.Lot.Withdrawn {
		out.Notes = append(out.Notes, "This lot is withdrawn: the record that opened it was taken back.")
	}
	stays := slices.ContainsFunc(p.out.Edges, func(e picture.Edge) bool { return e.Stays })
	if stays {
		out.Notes = append(out.Notes, "Dotted: what stood in the bin already.")
	}
	if p.a.Upstream+1 > len(p.steps) {
		out.Notes = append(out.Notes, p.undrawn()+" aren't drawn. All are listed at "+p.rest)
	}
	told := []string{out.Title + ", " + out.Under + "."}
	for _, n := range p.out.Nodes {
		told = append(told, n.Tip+".")
	}
	out.Text = strings.Join(append(told, out.Notes...), " ")
}
