package bench

import "trueplait/model"

// questions says how each column is asked for. Names and units are those of
// files, so that what is learnt at the bench holds for files too.
var questions = map[string]field{
	"build":   {Label: "Build", Hint: "A name of your own, used once.", Type: textField},
	"fill":    {Label: "Test fill", Hint: "A name of your own, used once.", Type: textField},
	"check":   {Label: "Cord check", Hint: "A name of your own, used once.", Type: textField},
	"date":    {Label: "Date", Type: dateField},
	"started": {Label: "Started", Hint: "The day the plan was fixed.", Type: dateField},

	"maker":        {Label: "Maker", Type: labelField},
	"product":      {Label: "Product", Type: labelField},
	"core_batch":   {Label: "Core batch", Hint: "The purchase of core cord.", Type: labelField},
	"strand_batch": {Label: "Strand batch", Hint: "The purchase of strand cord.", Type: labelField},
	"shot_batch":   {Label: "Shot batch", Type: labelField},

	"weight":        {Label: "Weight", Hint: "Finished, such as 411 g or 14 1/2 oz.", Type: amountField},
	"length":        {Label: "Length", Hint: `Finished, such as 1869 mm or 6' 1 5/8".`, Type: amountField},
	"shot_used":     {Label: "Shot used", Hint: "Such as 83.4 g or 2 7/8 oz.", Type: amountField},
	"shot_before":   {Label: "Tub before", Hint: "Weighed with its shot before filling.", Type: amountField},
	"shot_after":    {Label: "Tub after", Hint: "Weighed again after filling.", Type: amountField},
	"strand_cut":    {Label: "Longest strand as cut", Hint: "Of the outermost plait.", Type: amountField},
	"strand_left":   {Label: "Left of that strand", Hint: "What was cut off at the end.", Type: amountField},
	"load_length":   {Label: "Length loaded", Hint: "How far the core was filled.", Type: amountField},
	"humidity":      {Label: "Humidity", Hint: "Such as 45 %. It is kept, not used.", Type: textField},
	"set_aside":     {Label: "Set aside because", Hint: "A reason keeps the build out of the factors.", Type: textField},
	"note":          {Label: "Note", Type: longField},
	"calibration":   {Label: "Calibration in the plan", Hint: "Its number, if the planned figures contain one.", Type: textField},
	"shot_factor":   {Label: "Shot factor in the plan", Type: textField},
	"body_factor":   {Label: "Cord mass factor in the plan", Type: textField},
	"length_factor": {Label: "Length factor in the plan", Type: textField},

	"predicted_weight": {Label: "Planned weight", Type: amountField},
	"predicted_length": {Label: "Planned length", Type: amountField},
	"predicted_shot":   {Label: "Planned shot", Type: amountField},
	"predicted_strand": {Label: "Planned strand use", Type: amountField},
	"predicted_mass":   {Label: "Planned mass", Hint: "Blank: worked out from the parts list.", Type: amountField},

	"filled_length":  {Label: "Length filled", Hint: "Such as 150 mm or 6 in.", Type: amountField},
	"shot_mass":      {Label: "Shot it took", Hint: "Such as 14.2 g or 1/2 oz.", Type: amountField},
	"checked_length": {Label: "Length of cord", Hint: "Such as 5 m or 20 ft.", Type: amountField},
	"checked_mass":   {Label: "What it weighs", Hint: "Such as 22.3 g or 3/4 oz.", Type: amountField},

	"description": {Label: "Description", Type: textField},
	"weight_low":  {Label: "Weight at least", Hint: "What you promise today; blank if nothing.", Type: amountField},
	"weight_high": {Label: "Weight at most", Type: amountField},
	"length_low":  {Label: "Length at least", Type: amountField},
	"length_high": {Label: "Length at most", Type: amountField},

	"target_weight": {Label: "Weight wanted", Hint: "Such as 14 1/2 oz. Blank: as the parts list has it.", Type: amountField},
	"short_risk":    {Label: "A strand may fall short in", Hint: "The smaller the risk, the longer you cut.", Type: choiceField},
}

// mostOffered is how many labels a field offers: the newest, which are those in
// use. An older one can be typed.
const mostOffered = 50

// ask returns the field of each column, with the labels the log knows.
func (v *visit) ask(columns ...string) []field {
	var out []field
	for _, column := range columns {
		f := questions[column]
		f.Name = column
		if f.Type == labelField {
			known := v.now.Labels[model.Effect(column)]
			f.Known = known[:min(len(known), mostOffered)]
		}
		out = append(out, f)
	}
	return out
}
