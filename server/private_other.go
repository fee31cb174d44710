//go:build !unix

package main

func private() {}

func tighten(string) error { return nil }
