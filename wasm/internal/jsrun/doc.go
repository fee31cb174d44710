// Package jsrun holds the few calls that every browser binding here needs: run JavaScript without letting an exception
// become a panic, wait for a promise, and copy bytes in and out.
//
// The caller's duties:
//  1. Never wait from inside a JavaScript callback or on the screen's own goroutine: the page cannot answer while Go holds it.
//  2. Treat the name of an [Error] as the contract; browsers word their messages as they like.
package jsrun
