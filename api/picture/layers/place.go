package layers

// knotRoom is how far a knot keeps from what is beside it, where nodes keep 1.
const knotRoom = 0.3

// place gives everything its place in its row: near the mean of its neighbours
// above, then of those below, again and again.
func (s *stacked) place() {
	for _, row := range s.rows {
		for i, v := range row {
			if i > 0 {
				s.x[v] = s.x[row[i-1]] + s.room(row[i-1], v)
			}
		}
	}
	for range sweeps {
		for l := 1; l < len(s.rows); l++ {
			s.pull(l, s.up)
		}
		for l := len(s.rows) - 2; l >= 0; l-- {
			s.pull(l, s.down)
		}
	}
	for l := range s.rows {
		s.pull(l, nil)
	}
}

// room is how far apart two beside each other are at least.
func (s *stacked) room(a, b int) float64 {
	half := func(v int) float64 {
		if v >= s.nodes {
			return knotRoom / 2
		}
		return 0.5
	}
	return half(a) + half(b)
}

// pull moves a row towards the means of neighbours, above or below as given, on
// both sides for nil.
func (s *stacked) pull(l int, of [][]int) {
	row := s.rows[l]
	wish := make([]float64, len(row))
	for i, v := range row {
		near := s.up[v]
		if of != nil {
			near = of[v]
		} else {
			near = append(near[:len(near):len(near)], s.down[v]...)
		}
		wish[i] = s.mean(v, near)
	}
	s.settle(row, wish)
}

// mean is the mean of neighbours: of nodes for a node and of knots for a knot,
// where there are such, so that chains of nodes and long edges run straight and
// don't drag each other aside. Without neighbours all is well as it is.
func (s *stacked) mean(v int, near []int) float64 {
	var alike, all, likes float64
	for _, u := range near {
		all += s.x[u]
		if (u >= s.nodes) == (v >= s.nodes) {
			alike, likes = alike+s.x[u], likes+1
		}
	}
	switch {
	case likes > 0:
		return alike / likes
	case len(near) > 0:
		return all / float64(len(near))
	}
	return s.x[v]
}

// block is a run of a row in which each stands as close to the next as it may.
type block struct {
	sum   float64 // of the wishes for its first
	count int
}

func (b block) first() float64 { return b.sum / float64(b.count) }

// settle puts a row as near to its wishes, in the sense of least squares, as
// the room that each needs allows: neighbours whose wishes collide become one
// block (pool adjacent violators).
func (s *stacked) settle(row []int, wish []float64) {
	offset := make([]float64, len(row)) // from the first of the row, when all stand close
	for i := 1; i < len(row); i++ {
		offset[i] = offset[i-1] + s.room(row[i-1], row[i])
	}
	var blocks []block
	for i := range row {
		b := block{wish[i] - offset[i], 1}
		for len(blocks) > 0 && blocks[len(blocks)-1].first() > b.first() {
			last := blocks[len(blocks)-1]
			b = block{last.sum + b.sum, last.count + b.count}
			blocks = blocks[:len(blocks)-1]
		}
		blocks = append(blocks, b)
	}
	i := 0
	for _, b := range blocks {
		for range b.count {
			s.x[row[i]] = b.first() + offset[i]
			i++
		}
	}
}
