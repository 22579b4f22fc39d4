package main

import "pinwright/wheel/place"

// The JSON that "pinwright changeover -json" answers with, in full precision.
type (
	planJSON struct {
		Machine       string          `json:"machine"`
		From          string          `json:"from"`
		To            string          `json:"to"`
		RotationSteps int             `json:"rotation_steps"`
		Exchanged     []exchangedJSON `json:"exchanged"`
		Kept          int             `json:"kept"`
		Pulls         int             `json:"pulls"`
		Drives        int             `json:"drives"`
		List          []moveJSON      `json:"list"` // as the wheel turns from the start
		Stock         stockJSON       `json:"stock"`
		Minutes       *float64        `json:"minutes"` // null without -rate
		Saved         int             `json:"saved"`
	}

	exchangedJSON struct {
		Channel string `json:"channel"`
		To      string `json:"to"`
	}

	moveJSON struct {
		Step    int     `json:"step"`
		Bar     int     `json:"bar"`
		Beat    float64 `json:"beat"`
		Row     int     `json:"row"`
		Channel string  `json:"channel"`
		Do      string  `json:"do"`
	}

	// Have, short and left are null where the machine's file has no pin_stock.
	stockJSON struct {
		Have   *int `json:"have"`
		Needed int  `json:"needed"`
		Short  *int `json:"short"`
		Left   *int `json:"left"`
	}
)

func newPlanJSON(p *place.Plan) planJSON {
	out := planJSON{
		Machine: p.Machine, From: p.From, To: p.To,
		RotationSteps: p.RotationSteps, Exchanged: make([]exchangedJSON, len(p.Exchanged)),
		Kept: p.Kept, Pulls: p.Pulls, Drives: p.Drives, List: make([]moveJSON, len(p.List)),
		Stock:   stockJSON{p.Stock.Have, p.Stock.Needed, p.Stock.Short, p.Stock.Left},
		Minutes: p.Minutes, Saved: p.Saved,
	}
	for i, e := range p.Exchanged {
		out.Exchanged[i] = exchangedJSON{e.Channel, e.To}
	}
	for i, m := range p.List {
		out.List[i] = moveJSON{m.Step, m.Bar, m.Beat, m.Row, m.Channel, string(m.Do)}
	}
	return out
}
