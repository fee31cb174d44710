// Package device wraps what the phone's browser offers: sensors, camera, sound, speech, vibration, the screen's wake lock,
// clock, chance, the installation's key, locks between windows, storage, installing and updating.
//
// Rules that hold for all of it:
//   - Functions that take a context wait for the browser and must run on a goroutine of their own, never in a JavaScript
//     callback and never on the screen's.
//   - What needs a tap (motion permission, camera, sound, installing) says so; it must begin in the very turn of the event,
//     which a goroutine started there still does.
//   - What a browser lacks is ErrAbsent, or nothing happens; nothing here panics.
//   - Functions handed in are called on the page's thread and must not block.
//
// # Decisions
//
//   - The phone asks by the browser's fetch (wasm/device/fetch.go) behind client.Doer. Linking net/http's own
//     client brought its transport and TLS into the program: brotli 2.48 MB against 1.71 MB on the same tree.
package device
