package evening

// minuteS is the time over which calls are counted, in seconds.
const minuteS = 60.0

// CallsPerMinute is the most cues that a person calls in a minute that begins with a cue of a
// segment, those of the segments behind included, and that cue; -1 if there is none. It says
// what is missing if the time of one of them is not known.
func (e *Evening) CallsPerMinute(sp *Span) (most, from int, missing []string) {
	from = -1
	for _, i := range sp.Looks {
		if _, follows := e.Time.Follows(i); follows {
			continue
		}
		start := e.Time.Moments[i]
		if start.Missing != "" {
			return 0, -1, []string{start.Missing}
		}
		calls := 0
		for k := i; k < len(e.Looks); k++ {
			at := e.Time.Moments[k]
			if at.Clock != start.Clock || at.At >= start.At+minuteS-slack {
				break
			}
			if _, follows := e.Time.Follows(k); !follows {
				calls++
			}
		}
		if calls > most {
			most, from = calls, i
		}
	}
	return most, from, nil
}
