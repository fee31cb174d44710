package browsertest

import (
	"math"
	"strings"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// standardGravity in m/s2 (ISO 80000-3).
const standardGravity = 9.80665

// Hold puts the phone into a pose: x, y, z is the direction away from the earth in the phone's own axes (x to its right
// edge, y to its top, z out of its face), of any length. Lying on a table face up is 0, 0, 1; upright is 0, 1, 0. The
// accelerometer then reads the reaction to gravity, as the W3C Device Orientation text defines accelerationIncludingGravity.
// The origin needs the permission "sensors". Call it before the page begins to listen.
func (p *Page) Hold(x, y, z float64) {
	p.t.Helper()
	k := standardGravity / math.Sqrt(float64(x*x)+float64(y*y)+float64(z*z))
	still := &emulation.SensorReadingXYZ{}
	up := &emulation.SensorReadingXYZ{X: x * k, Y: y * k, Z: z * k}
	for _, s := range []struct {
		kind emulation.SensorType
		at   *emulation.SensorReadingXYZ
	}{
		{emulation.SensorTypeLinearAcceleration, still},
		{emulation.SensorTypeAccelerometer, up},
		{emulation.SensorTypeGyroscope, still},
	} {
		_, err := chromedp.Call(p.ctx, emulation.SetSensorOverrideEnabled, emulation.SetSensorOverrideEnabledParams{Enabled: true, Type: s.kind})
		if err == nil || strings.Contains(err.Error(), "already overridden") { // a phone may be moved
			_, err = chromedp.Call(p.ctx, emulation.SetSensorOverrideReadings, emulation.SetSensorOverrideReadingsParams{
				Type: s.kind, Reading: &emulation.SensorReading{Xyz: s.at},
			})
		}
		if err != nil {
			p.t.Fatalf("hold the phone (%s): %v", s.kind, err)
		}
	}
}

// Speak gives the page a speechSynthesis that says everything at once and notes it, and one voice: a browser without a
// window has none. What was said is in the page's testSpoken.
const Speak = `(() => {
  window.testSpoken = [];
  class Utterance extends EventTarget { constructor(text) { super(); this.text = text; } }
  window.SpeechSynthesisUtterance = Utterance;
  const synth = new EventTarget();
  Object.assign(synth, {
    speaking: false, pending: false,
    getVoices: () => [{ name: "test", lang: "en-US", localService: true, default: true }],
    speak: (u) => { window.testSpoken.push(u.text); setTimeout(() => { u.onend && u.onend(new Event("end")); u.dispatchEvent(new Event("end")); }, 0); },
    cancel: () => {},
  });
  Object.defineProperty(window, "speechSynthesis", { value: synth, configurable: true });
})();`
