// Package colour is the arithmetic of coloured light: from emitters, filters,
// lamps and temperatures to chromaticity, correlated colour temperature, hue
// and colour difference.
//
// In go plain numbers: tristimulus values (Y in lumens, lux or relative, as
// the caller likes), CIE 1931 2-degree chromaticities, temperatures in kelvin,
// levels and insertions from 0 to 1, hues in degrees. Out come the same. A
// function that cannot answer returns ok == false (or an error, for text) and
// a zero value that means nothing; none returns NaN or an infinity.
//
// Sources stand at the constants. Numbers of sections, equations and tables in
// the CIE publications and papers are from memory; the values themselves are
// held to testdata/reference by tests.
//
// What a newcomer gets wrong: chromaticities do not average. Two lights mix in
// XYZ, each weighted by its luminous flux; the point halfway between two xy is
// not the mix of two equal lights. And UV is the CIE 1960 plane, the only one
// in which correlated colour temperature and Duv are defined; UVPrime is the
// CIE 1976 plane, the one to judge distances in.
package colour
