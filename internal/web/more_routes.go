package web

// moreRoutes are the addresses of what follows a ride: marks from paper, remarks in order, the
// trainer's eye, marking again unseen, show starts and own exercises. Each page keeps its lines in
// its own file.
func moreRoutes() []Route {
	var all []Route
	for _, list := range [][]Route{marksRoutes(), remarksRoutes(), showsRoutes(), exercisesRoutes(), eyeRoutes()} {
		all = append(all, list...)
	}
	return all
}
