// SPDX-License-Identifier: MIT
#include "chart/sheet/form_drawing.h"

#include "base/text.h"
#include "base/tongue.h"

#include <math.h>

enum { NOTES = 4, STEPS = 90 };

// The turns that are shown along a time of TURNS: a rhythm of one a turn.
static double bend_at(double turn)
{
    return sin(2 * M_PI * turn);
}

// Ticks of the turns along Y, and how long one takes.
static void draw_turns(const DwFormDrawing *view, double left, double wide, double y, double turns)
{
    double em = view->canvas->em, speed = dw_form_given(view, "deck.speed", "rpm");
    dw_form_line(view, (DwSpot){left, y}, (DwSpot){left + wide, y}, false, DW_INK_QUIET);
    for (int i = 0; i <= (int)floor(turns + 1e-9); i++) {
        double x = left + wide * i / turns;
        dw_form_line(view, (DwSpot){x, y - 0.4 * em}, (DwSpot){x, y + 0.4 * em}, false, DW_INK_QUIET);
    }
    dw_form_measure(view, (DwSpot){left, y}, (DwSpot){left + wide / turns, y}, 1.2 * em,
                    dw_form_value("one turn", isfinite(speed) && speed > 0 ? 60 / speed : NAN, "s"));
}

static void draw_bent(const DwFormDrawing *view, double left, double wide, double y, double from, double to,
                      double turns)
{
    double em = view->canvas->em;
    DwSpot last = {left + wide * from / turns, y - 0.45 * em * bend_at(from)};
    for (int i = 1; i <= STEPS; i++) {
        double turn = from + (to - from) * i / STEPS;
        DwSpot next = {left + wide * turn / turns, y - 0.45 * em * bend_at(turn)};
        dw_dimension_stroke(view->canvas, last, next, 0.22 * em, false, DW_INK_ACCENT);
        last = next;
    }
}

void dw_form_draw_held(const DwFormDrawing *view)
{
    // Held notes, from and to in turns: what all of them do at one moment of the turn is not the players'.
    static const double notes[NOTES][2] = {{0.15, 2.3}, {1.1, 3.85}, {0.5, 1.7}, {2.1, 3.6}};
    const DwBox *box = &view->box;
    bool narrow = dw_form_is_narrow(view);
    double em = view->canvas->em, tuning = dw_form_given(view, "music.tuning", "Hz"), turns = 4, left = box->x + 2 * em,
           wide = box->width - 4 * em, strip_y = box->y + box->height - 5 * em, below = strip_y - 4.6 * em;
    double top = box->y + (narrow ? 5 : 3.6) * em, apart = (below - top - 0.8 * em) / NOTES;
    dw_form_words(view, left, box->y + 0.6 * em, wide, DW_INK_TEXT,
                  dw_say("What all held notes do alike, turn after turn, is the deck's or the record's."));
    for (int i = 1; i <= (int)turns; i++)
        dw_form_line(view, (DwSpot){left + wide * (i - 0.75) / turns, top - 0.4 * em},
                     (DwSpot){left + wide * (i - 0.75) / turns, below}, true, DW_INK_LINE);
    for (int i = 0; i < NOTES; i++)
        draw_bent(view, left, wide, top + (i + 0.5) * apart, notes[i][0], notes[i][1], turns);
    dw_form_label(view, left + wide, top + 0.5 * apart, 1, DW_INK_QUIET,
                  isfinite(tuning) ? dw_form_value("tuned to a =", tuning, "Hz") : dw_say("held notes"));
    draw_turns(view, left, wide, below, turns);
    DwFormStrip strip = dw_form_strip(view, strip_y, dw_form_last_second(view));
    dw_form_label(view, strip.left + 0.4 * em, strip.y, 0, DW_INK_TEXT,
                  narrow ? dw_say("music that holds notes")
                         : dw_say("music that holds notes: strings, organ, voices, piano"));
}

void dw_form_draw_twin(const DwFormDrawing *view)
{
    enum { MOMENTS = 6 };
    // Moments of the music, in shares of the strip, and how far the second is behind at each.
    static const double moments[MOMENTS] = {0.08, 0.25, 0.4, 0.57, 0.74, 0.9};
    const DwBox *box = &view->box;
    double em = view->canvas->em, left = box->x + 2 * em, wide = box->width - 4 * em, foot = box->y + box->height,
           first = box->y + 3.4 * em, second = foot - 7.4 * em, half = 0.9 * em,
           start = dw_form_given(view, "record.start", "s"), end = dw_form_given(view, "record.end", "s");
    const double y[] = {first, second};
    for (int i = 0; i < 2; i++) {
        dw_form_rectangle(view, (DwBox){left, y[i] - half, wide, 2 * half}, DW_INK_LINE);
        for (int k = 0; k < STEPS; k++) { // how loud it is: alike in both
            double at = (k + 0.5) / STEPS, late = i ? 0.02 * sin(2 * M_PI * at * 1.3) + 0.012 : 0,
                   loud = half * (0.25 + 0.65 * fabs(sin(17 * at) * cos(5 * at)));
            double x = left + wide * fmin(fmax(at + late, 0.005), 0.995);
            dw_form_line(view, (DwSpot){x, y[i] - loud}, (DwSpot){x, y[i] + loud}, false, DW_INK_LINE);
        }
    }
    for (int i = 0; i < MOMENTS; i++) {
        double late = 0.02 * sin(2 * M_PI * moments[i] * 1.3) + 0.012;
        DwSpot from = {left + wide * moments[i], first + half}, to = {left + wide * (moments[i] + late), second - half};
        dw_form_line(view, from, to, false, DW_INK_ACCENT);
        dw_form_dot(view, from, 0.3 * em, DW_INK_ACCENT);
        dw_form_dot(view, to, 0.3 * em, DW_INK_ACCENT);
    }
    dw_form_label(view, left, first - 1.9 * em, 0, DW_INK_TEXT, dw_say("first recording"));
    dw_form_label(view, left, second + 1.9 * em, 0, DW_INK_TEXT,
                  dw_say("second recording, or a digital copy of the same"));
    dw_form_label(view, left + wide / 2, (first + second) / 2, 0.5, DW_INK_ACCENT,
                  dw_say("the same moments of the music"));
    dw_form_label(view, left + wide, first - 1.9 * em, 1, DW_INK_QUIET,
                  isfinite(start) ? dw_form_value("used from", start, "s") : dw_say("used from its beginning"));
    dw_form_label(view, left + wide, foot - 1.2 * em, 1, DW_INK_QUIET,
                  isfinite(end) ? dw_form_value("to", end, "s") : dw_say("to its end"));
    draw_turns(view, left, wide, foot - 3.7 * em, dw_form_is_narrow(view) ? 4 : 8);
}
