package flash

// luminanceChanges picks the opposing changes of a path of straight lines, linear in its length.
//
// The definition (WCAG 2.2, its "general flash" [verified]) speaks of changes between adjacent peaks and
// valleys. A peak here is the highest point before the next change down that counts, so a ripple
// too small to count, or a stop on the way, does not cut a rise in two. That is the strictest reading: it finds
// the largest number of alternating changes that count, and the same for a path run backwards.
//
// Why one pass is enough for every window: a window that opens in the middle of a change sees the rest of
// it, and from the next change on it sees what the whole path shows. So a window holds the
// changes i to j if it opens by changes[i].from and closes after changes[j].done.
func luminanceChanges(path []State, c Criterion) []change {
	if len(path) == 0 {
		return nil
	}
	var out []change
	low, high := 0, 0 // the lowest and the highest point since the last change was complete
	for i := 1; i < len(path); i++ {
		y := path[i].Y
		last := len(out) - 1
		switch {
		case (last < 0 || !out[last].up) && c.counts(path[low].Y, y):
			if last >= 0 {
				out[last].from = latestAbove(path, low, c)
			}
			out = append(out, change{up: true, done: crossing(path[i-1], path[i], c.rise(path[low].Y))})
			low, high = i, i
		case (last < 0 || out[last].up) && c.counts(y, path[high].Y):
			if last >= 0 {
				out[last].from = latestBelow(path, high, c)
			}
			out = append(out, change{up: false, done: crossing(path[i-1], path[i], c.fall(path[high].Y))})
			low, high = i, i
		default:
			if y < path[low].Y {
				low = i
			}
			if y > path[high].Y {
				high = i
			}
		}
	}
	if last := len(out) - 1; last >= 0 && out[last].up {
		out[last].from = latestBelow(path, high, c)
	} else if last >= 0 {
		out[last].from = latestAbove(path, low, c)
	}
	return out
}

// latestBelow is the last time before the peak from which the rise to it still counts.
func latestBelow(path []State, peak int, c Criterion) float64 {
	i := peak - 1
	for i > 0 && !c.counts(path[i].Y, path[peak].Y) {
		i--
	}
	return crossing(path[i], path[i+1], c.fall(path[peak].Y))
}

// latestAbove is the last time before the valley from which the fall to it still counts.
func latestAbove(path []State, valley int, c Criterion) float64 {
	i := valley - 1
	for i > 0 && !c.counts(path[valley].Y, path[i].Y) {
		i--
	}
	return crossing(path[i], path[i+1], c.rise(path[valley].Y))
}

// crossing is when the straight line from p to q passes the luminance y, kept within the line.
func crossing(p, q State, y float64) float64 {
	part := (y - p.Y) / (q.Y - p.Y) // the line of a change is never level
	return p.T + min(max(part, 0), 1)*(q.T-p.T)
}
