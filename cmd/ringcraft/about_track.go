package main

import "ringcraft/internal/logbook"

// aboutTrack are the options that say more of a recording.
type aboutTrack struct {
	Tag  string `help:"Which tag of a recording with several." placeholder:"ID"`
	From string `help:"Where in the recording the ride begins, roughly, when it holds more than the ride: minutes and seconds of its clock." placeholder:"12:30"`
	To   string `help:"Where in the recording it ends, roughly." placeholder:"19:00"`
	Ride string `enum:"first,last" default:"last" help:"Which ride is meant, where the recording holds the test twice: first or last." placeholder:"first|last"`
	Worn string `help:"Where the recorder sat: body, helmet, pocket, saddle or poll." placeholder:"PLACE"`
}

func (a aboutTrack) about() logbook.AboutTrack {
	return logbook.AboutTrack{Worn: a.Worn, Tag: a.Tag, From: a.From, To: a.To}
}
