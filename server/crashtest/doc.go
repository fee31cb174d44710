// Package crashtest holds the real server, as a process of its own over a real
// disk, to "what was acknowledged is kept". Its tests kill it with SIGKILL at
// random instants while phones and the clinic write, and damage the files of
// its store, keys and backup at random places. Each time nothing acknowledged
// is missing once the phones have been in contact again, or the damage is
// detected and named; and no phone is ever given a line that nobody wrote.
package crashtest
