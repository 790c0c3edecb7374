package rideplan

func (c *compiler) demands(tl *timeline) {}
func (c *compiler) accuracy()            {}
