package web

import (
	"testing"

	"github.com/chromedp/chromedp"

	"ringcraft/internal/sim"
)

// TestScrubberInStep: on a ride that halts late, circles to try again and has gaps, the place asked
// stays at the plan's metre of the place where the ride is, at every second; the marks of the strips
// stand at the second shown, and a click on a strip of the ride's clock, or on the line on a phone, goes to its second.
func TestScrubberInStep(t *testing.T) {
	sensor, err := sim.Profile("rtk")
	if err != nil {
		t.Fatal(err)
	}
	sensor.GapEvery, sensor.GapS = 90, 6
	rev, _, h := ridden(t, sim.Faults{Before: 20, Halts: []sim.HaltFault{{Movement: 1, Late: 2, Longer: 6}}, Retries: []sim.Excursion{{AtM: 150, Radius: 4, Left: true}}}, sensor)
	c, srv := tab(t, h, 1280)
	at := srv.URL + "/rides/" + rev.Ride.ID
	do(t, c, chromedp.Navigate(at), chromedp.WaitVisible("[data-scrub-range]"))
	worst := ask[[]float64](t, c, `(() => {
		const s = window.ringcraftScrubber, d = JSON.parse(document.getElementById("timeline").textContent), f = s.drawing.dataset, k = f.k / 100;
		let worst = 0, when = 0, n = 0;
		for (let i = 0; i < d.ride.t.length; i += 3) {
			if (d.ride.m[i] < 0) continue;
			s.go(d.ride.t[i], false);
			let best = 1e9;
			const ring = document.querySelector(".cursor-planned");
			const x = (ring.getAttribute("cx") - f.ox) / k - f.w / 2, y = f.l - (ring.getAttribute("cy") - f.oy) / k;
			for (let j = 0; j < d.plan.t.length; j++) if (Math.abs(d.plan.m[j] - d.ride.m[i]) < 1) best = Math.min(best, Math.hypot(d.plan.x[j] - x, d.plan.y[j] - y));
			n++;
			if (best > worst) { worst = best; when = d.ride.t[i]; }
		}
		return [worst, when, n];
	})()`)
	if worst[0] > 1 || worst[2] < 300 {
		t.Errorf("the place asked is %.1f m from the ride's own at %.1f s (%.0f seconds looked at)", worst[0], worst[1], worst[2])
	}
	for _, share := range []string{"0.2", "0.7"} {
		off := ask[float64](t, c, `(() => {
			const svg = document.querySelector(".strip svg"), d = svg.dataset, s = window.ringcraftScrubber;
			svg.scrollIntoView({ block: "center", behavior: "instant" });
			const box = svg.getBoundingClientRect(), k = box.width / svg.viewBox.baseVal.width;
			const x = Number(d.x0) + `+share+` * (d.x1 - d.x0), want = Number(d.t0) + `+share+` * (d.t1 - d.t0);
			svg.dispatchEvent(new MouseEvent("click", { clientX: box.left + x * k, clientY: box.top + 20, bubbles: true }));
			const mark = Number(svg.querySelector(".cursor").getAttribute("d").slice(1).split(" ")[0]);
			return Math.max(Math.abs(s.t - want), Math.abs(mark - x));
		})()`)
		if off > 0.7 { // a click has whole pixels, of 0.64 s here
			t.Errorf("a click at %s of the strip is %.1f off", share, off)
		}
	}

	do(t, c, chromedp.EmulateViewport(390, 844, chromedp.EmulateTouch), chromedp.Navigate(at), chromedp.WaitVisible("[data-scrub-range]"))
	off := ask[float64](t, c, `(() => { // a tap on the line where the drawing is narrower than its box
		const s = window.ringcraftScrubber, d = JSON.parse(document.getElementById("timeline").textContent);
		const i = d.ride.t.findIndex((t, i) => d.ride.m[i] > 100 && !d.ride.g[i]);
		const [x, y] = s.place(d.ride.x[i], d.ride.y[i]);
		s.drawing.scrollIntoView({ block: "center", behavior: "instant" });
		const p = new DOMPoint(x, y).matrixTransform(s.drawing.getScreenCTM());
		s.go(d.ride.t[i] - 3, false);
		s.drawing.dispatchEvent(new MouseEvent("click", { clientX: p.x, clientY: p.y, bubbles: true }));
		const ring = document.querySelector(".cursor-ridden");
		return Math.hypot(ring.getAttribute("cx") - x, ring.getAttribute("cy") - y);
	})()`)
	if off > 4 {
		t.Errorf("a tap on the line went %.1f mm beside it", off)
	}
}
