// Package model holds the words of the trade that every other package speaks:
// builds, test fills, cord checks, products and parts lists, the quantities
// that are calibrated, exact units, and the formulas that plan a whip from its
// parts list ([NewDesign]).
//
// Masses are grams and lengths millimetres, always; the unit is part of a
// field's name. A figure that was not recorded is NaN (see [Unknown]).
package model
