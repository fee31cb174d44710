// Package validate holds what the package fhir writes to FHIR R4 as
// github.com/google/fhir understands it: the structure of every resource,
// required members, primitive types, value sets of required bindings, and the
// types that references may lead to. It reads the examples in ../testdata,
// which a test of the package fhir keeps equal to what is written.
package validate
