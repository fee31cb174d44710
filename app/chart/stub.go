package chart

// SVG returns the chart as an SVG element.
func (c Motion) SVG() string { return "" }

// Table returns the same facts as rows; the first row is the header.
func (c Motion) Table() [][]string { return nil }

// SVG returns the chart as an SVG element.
func (c Spark) SVG() string { return "" }

// Table returns the same facts as rows; the first row is the header.
func (c Spark) Table() [][]string { return nil }

// SVG returns the chart as an SVG element.
func (c Dose) SVG() string { return "" }

// Table returns the same facts as rows; the first row is the header.
func (c Dose) Table() [][]string { return nil }

// SVG returns the chart as an SVG element.
func (c Pain) SVG() string { return "" }

// Table returns the same facts as rows; the first row is the header.
func (c Pain) Table() [][]string { return nil }

// SVG returns the chart as an SVG element.
func (c Agreement) SVG() string { return "" }

// Table returns the same facts as rows; the first row is the header.
func (c Agreement) Table() [][]string { return nil }

// SVG returns the chart as an SVG element.
func (c Pattern) SVG() string { return "" }

// Table returns the same facts as rows; the first row is the header.
func (c Pattern) Table() [][]string { return nil }
