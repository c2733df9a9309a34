// SPDX-License-Identifier: MIT
#include "chart/sheet/form_drawing.h"

#include "base/text.h"
#include "base/tongue.h"

#include <math.h>
#include <stdlib.h>

// --- bearing: spindle and sleeve cut open, the platter on top ---------------------------------

void dw_form_draw_bearing(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, middle = box->x + 0.5 * box->width, top = box->y + 3.5 * em;
    double spindle = dw_form_given(view, "bearing.spindle_diameter", "mm"),
           length = dw_form_given(view, "bearing.sleeve_length", "mm"),
           clearance = dw_form_given(view, "bearing.clearance", "um");
    // The sleeve to the scale of the spindle, as far as both are given; the clearance is drawn to be seen.
    double half = 0.05 * box->width,
           ratio = isfinite(spindle) && isfinite(length) && spindle > 0 ? length / spindle : 3;
    double deep = fmin(fmax(ratio, 0.5) * 2 * half, box->height - top + box->y - 4.6 * em), gap = 0.4 * em,
           wall = 0.05 * box->width, sleeve = top + 1.6 * em;
    dw_form_rectangle(view, (DwBox){middle - 0.4 * box->width, top - em, 0.8 * box->width, em}, DW_INK_TEXT);
    dw_form_rectangle(view, (DwBox){middle - half, top, 2 * half, 1.6 * em + deep}, DW_INK_TEXT);
    for (int side = -1; side <= 1; side += 2) {
        double inner = middle + side * (half + gap);
        dw_form_rectangle(view, (DwBox){side < 0 ? inner - wall : inner, sleeve, wall, deep}, DW_INK_ACCENT);
    }
    dw_form_measure(view, (DwSpot){middle - 0.4 * box->width, top - em}, (DwSpot){middle + 0.4 * box->width, top - em},
                    -1.3 * em, dw_form_value("platter", dw_form_given(view, "platter.diameter", "mm"), "mm"));
    dw_form_measure(view, (DwSpot){middle + half + gap + wall, sleeve},
                    (DwSpot){middle + half + gap + wall, sleeve + deep}, -1.4 * em,
                    dw_form_value("sleeve", length, "mm"));
    dw_form_label(view, middle - half - gap - wall - em, sleeve + 0.4 * deep, 1, DW_INK_TEXT,
                  dw_form_value("spindle", spindle, "mm"));
    dw_form_label(view, middle - half - gap - wall - em, sleeve + 0.4 * deep + 1.6 * em, 1, DW_INK_ACCENT,
                  dw_form_value("clearance", clearance, "um"));
    dw_form_label(view, box->x + em, top + 1.2 * em, 0, DW_INK_QUIET,
                  dw_form_value("mass", dw_form_given(view, "platter.mass", "g"), "g"));
    dw_form_label(view, middle, sleeve + deep + 1.4 * em, 0.5, DW_INK_QUIET,
                  dw_form_value("oil at", dw_form_given(view, "oil.temperature", "degC"), "°C"));
}

// --- resonance: the moving mass on the spring of the cantilever -------------------------------

static void draw_spring(const DwFormDrawing *view, DwSpot top, double bottom, double wide)
{
    enum { TURNS = 6 };
    DwSpot from = top;
    for (int i = 1; i <= TURNS; i++) {
        DwSpot to = {top.x + (i == TURNS ? 0 : (i % 2 ? 1 : -1) * wide), top.y + (bottom - top.y) * i / TURNS};
        dw_form_line(view, from, to, false, DW_INK_ACCENT);
        from = to;
    }
}

void dw_form_draw_resonance(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, floor_y = box->y + box->height - 3.2 * em, beam = box->y + 0.34 * box->height,
           head = box->x + 0.28 * box->width, pivot = box->x + 0.8 * box->width;
    dw_form_line(view, (DwSpot){box->x + em, floor_y}, (DwSpot){box->x + box->width - em, floor_y}, false, DW_INK_LINE);
    dw_dimension_stroke(view->canvas, (DwSpot){head, beam}, (DwSpot){pivot, beam}, 0.3 * em, false, DW_INK_LINE);
    dw_form_circle(view, (DwSpot){pivot, beam}, 0.6 * em, DW_INK_TEXT);
    dw_form_line(view, (DwSpot){pivot, beam + 0.6 * em}, (DwSpot){pivot, floor_y}, false, DW_INK_TEXT);
    dw_form_rectangle(view, (DwBox){head - 2.2 * em, beam, 4.4 * em, 1.8 * em}, DW_INK_TEXT);
    draw_spring(view, (DwSpot){head, beam + 1.8 * em}, floor_y, 0.9 * em);
    dw_form_label(view, (head + pivot) / 2 + 2 * em, beam - 1.2 * em, 0.5, DW_INK_TEXT,
                  dw_form_value("effective mass of the arm", dw_form_given(view, "arm.effective_mass", "g"), "g"));
    dw_form_label(view, head, beam - 2.9 * em, 0.5, DW_INK_TEXT,
                  dw_form_value("cartridge", dw_form_given(view, "cartridge.mass", "g"), "g"));
    dw_form_label(view, head + 3 * em, beam + 2.6 * em, 0, DW_INK_QUIET,
                  dw_form_value("screws and nuts", dw_form_given(view, "cartridge.hardware_mass", "g"), "g"));
    dw_form_label(view, head + 3 * em, beam + 4.6 * em, 0, DW_INK_ACCENT,
                  dw_form_value("compliance", dw_form_given(view, "cartridge.compliance", "um/mN"), "um/mN"));
    dw_form_label(view, head + 3 * em, beam + 6.2 * em, 0, DW_INK_QUIET,
                  dw_form_value("stated at", dw_form_given(view, "cartridge.compliance_frequency", "Hz"), "Hz"));
}

// --- load: the cartridge, wires and lead, the input ---------------------------------------------

static void draw_capacitor(const DwFormDrawing *view, double x, double top, double bottom, char *text)
{
    double em = view->canvas->em, middle = (top + bottom) / 2;
    dw_form_line(view, (DwSpot){x, top}, (DwSpot){x, middle - 0.3 * em}, false, DW_INK_TEXT);
    dw_form_line(view, (DwSpot){x - em, middle - 0.3 * em}, (DwSpot){x + em, middle - 0.3 * em}, false, DW_INK_ACCENT);
    dw_form_line(view, (DwSpot){x - em, middle + 0.3 * em}, (DwSpot){x + em, middle + 0.3 * em}, false, DW_INK_ACCENT);
    dw_form_line(view, (DwSpot){x, middle + 0.3 * em}, (DwSpot){x, bottom}, false, DW_INK_TEXT);
    dw_form_label(view, x, bottom + 1.2 * em, 0.5, DW_INK_TEXT, text);
}

void dw_form_draw_load(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, top = box->y + 0.3 * box->height, bottom = box->y + 0.68 * box->height,
           left = box->x + 0.06 * box->width, right = box->x + 0.94 * box->width;
    dw_form_line(view, (DwSpot){left, top}, (DwSpot){right, top}, false, DW_INK_TEXT);
    dw_form_line(view, (DwSpot){left, bottom}, (DwSpot){right, bottom}, false, DW_INK_TEXT);
    dw_form_rectangle(view, (DwBox){left, top - em, 0.2 * box->width, bottom - top + 2 * em}, DW_INK_TEXT);
    dw_form_label(view, left + 0.1 * box->width, top + 0.35 * (bottom - top), 0.5, DW_INK_TEXT,
                  dw_form_value("L", dw_form_given(view, "cartridge.inductance", "mH"), "mH"));
    dw_form_label(view, left + 0.1 * box->width, top + 0.75 * (bottom - top), 0.5, DW_INK_TEXT,
                  dw_form_value("R", dw_form_given(view, "cartridge.resistance", "ohm"), "Ω"));
    dw_form_label(view, left + 0.1 * box->width, top - 2 * em, 0.5, DW_INK_QUIET, dw_say("cartridge"));
    draw_capacitor(view, box->x + 0.37 * box->width, top, bottom,
                   dw_form_value("arm", dw_form_given(view, "arm.wire_capacitance", "pF"), "pF"));
    draw_capacitor(view, box->x + 0.57 * box->width, top, bottom,
                   dw_form_value("lead", dw_form_given(view, "cable.capacitance", "pF"), "pF"));
    double input = box->x + 0.74 * box->width;
    dw_form_rectangle(view, (DwBox){input, top - em, right - input, bottom - top + 2 * em}, DW_INK_TEXT);
    dw_form_label(view, (input + right) / 2, top + 0.35 * (bottom - top), 0.5, DW_INK_TEXT,
                  dw_form_value("R", dw_form_given(view, "preamp.resistance", "kohm"), "kΩ"));
    dw_form_label(view, (input + right) / 2, top + 0.75 * (bottom - top), 0.5, DW_INK_TEXT,
                  dw_form_value("C", dw_form_given(view, "preamp.capacitance", "pF"), "pF"));
    dw_form_label(view, (input + right) / 2, top - 2 * em, 0.5, DW_INK_QUIET, dw_say("input"));
}

// --- strobe: the ring of bars under its lamp ----------------------------------------------------

void dw_form_draw_strobe(const DwFormDrawing *view)
{
    enum { BARS_MOST = 400 };
    const DwBox *box = &view->box;
    double em = view->canvas->em, flash = dw_form_given(view, "strobe.flash", "Hz"),
           mains = dw_form_given(view, "deck.mains", "Hz"), speed = dw_form_given(view, "deck.speed", "rpm"),
           ring = dw_form_given(view, "strobe.ring", "");
    if (!isfinite(flash) && isfinite(mains))
        flash = 2 * mains; // a lamp on the mains lights twice a period
    if (!isfinite(ring) && isfinite(flash) && isfinite(speed) && speed > 0)
        ring = round(60 * flash / speed);
    double radius = box->height / 2 - 1.5 * em;
    DwSpot centre = {box->x + 1.5 * em + radius, box->y + box->height / 2};
    dw_form_circle(view, centre, radius, DW_INK_TEXT);
    dw_form_circle(view, centre, 0.2 * em, DW_INK_TEXT);
    int bars = isfinite(ring) ? (int)fmin(fmax(ring, 0), BARS_MOST) : 0;
    for (int i = 0; i < bars; i++) {
        double angle = 2 * M_PI * i / bars;
        dw_dimension_stroke(view->canvas, dw_spot_at(centre, angle, 0.78 * radius),
                            dw_spot_at(centre, angle, 0.92 * radius), fmin(M_PI * 0.85 * radius / bars, 0.5 * em),
                            false, DW_INK_ACCENT);
    }
    double beside = centre.x + radius + 2 * em;
    dw_form_label(view, beside, centre.y - 2 * em, 0, DW_INK_TEXT, dw_form_value("bars", ring, ""));
    dw_form_label(view, beside, centre.y, 0, DW_INK_TEXT, dw_form_value("flashes", flash, "Hz"));
    dw_form_label(view, beside, centre.y + 2 * em, 0, DW_INK_TEXT, dw_form_value("turns at", speed, "rpm"));
}

// --- reseat: the record turned on its platter ---------------------------------------------------

static void draw_record(const DwFormDrawing *view, DwSpot centre, double radius, double turned, char *text)
{
    double em = view->canvas->em;
    dw_form_circle(view, centre, radius, DW_INK_TEXT);
    dw_form_circle(view, centre, 0.35 * radius, DW_INK_LINE);
    dw_form_circle(view, centre, 0.2 * em, DW_INK_TEXT);
    // The mark on the platter stays; the one on the record goes with it.
    dw_dimension_stroke(view->canvas, dw_spot_at(centre, -M_PI / 2, radius),
                        dw_spot_at(centre, -M_PI / 2, 1.12 * radius), 0.3 * em, false, DW_INK_TEXT);
    dw_dimension_stroke(view->canvas, dw_spot_at(centre, -M_PI / 2 + turned, 0.12 * radius),
                        dw_spot_at(centre, -M_PI / 2 + turned, 0.32 * radius), 0.4 * em, false, DW_INK_ACCENT);
    dw_form_label(view, centre.x, centre.y + radius + 1.2 * em, 0.5, DW_INK_QUIET, text);
}

void dw_form_draw_reseat(const DwFormDrawing *view)
{
    const DwBox *box = &view->box;
    double em = view->canvas->em, angle = dw_form_given(view, "reseat.angle", "deg"),
           turned = (isfinite(angle) ? angle : 90) * M_PI / 180,
           radius = fmin(box->height / 2 - 2.4 * em, 0.19 * box->width);
    double y = box->y + box->height / 2 - 0.4 * em;
    draw_record(view, (DwSpot){box->x + 0.26 * box->width, y}, radius, 0, dw_say("first recording"));
    DwSpot second = {box->x + 0.72 * box->width, y};
    draw_record(view, second, radius, turned, dw_form_value("turned by", angle, "deg"));
    dw_dimension_angle(view->canvas, second, 0.55 * radius, -M_PI / 2, -M_PI / 2 + turned, NULL, DW_INK_ACCENT);
}
