// SPDX-License-Identifier: MIT
#include "base/memory.h"
#include "base/text.h"
#include "base/tongue.h"
#include "chart/template/template_plan.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

static const char *const cautions[] = {
    N_("Motor off, plug out of the wall. Hold the platter still with tape."),
    N_("Keep the stylus guard on while the screws are worked at; take it off only to look."),
    N_("Lower the stylus with the lift. Never let it drag over the paper, never turn the platter under it: lift, turn, "
       "lower."),
};

static const char *const printing =
    N_("Print at 100 % (“actual size”, no fitting to the page). Both rulers must measure "
       "100.0 mm. If not, draw it again with printer.x= and printer.y= set to what they "
       "measured.");

static const char *const for_a_camera =
    N_("The black squares set nothing; they are for a camera. Two or more photographs from different sides, four "
       "squares or more in each, tell how the cartridge stands over this paper: deckwright pose PHOTO PHOTO.");

// A number and its unit stay on one line: the space between becomes one that
// does not break.
static char *bind_units(const char *text)
{
    static const char *const units[] = {"mm", "%", "·"};
    DwText bound = {0};
    for (const char *at = text; *at; at++) {
        bool unit = false;
        for (size_t i = 0; *at == ' ' && i < sizeof units / sizeof *units; i++)
            unit = unit || strncmp(at + 1, units[i], strlen(units[i])) == 0;
        if (unit)
            dw_text_add(&bound, "\u00a0");
        else
            dw_text_add(&bound, "%c", *at);
    }
    return dw_text_take(&bound);
}

static double paragraph(const DwCanvas *canvas, DwLetters letters, double x, double y, double width, const char *text)
{
    char *bound = bind_units(text);
    double height = dw_canvas_paragraph(canvas, letters, x, y, width, bound);
    free(bound);
    return height;
}

// Takes SAID.
static void add(DwText *text, char *said)
{
    dw_text_add(text, "%s", said);
    free(said);
}

static char *figures_of(const DwTemplate *template)
{
    DwText text = {0};
    if (isnan(template->null_outer_mm))
        add(&text, dw_say("Tangent at %.2f mm", template->null_inner_mm));
    else
        add(&text, dw_say("Tangent at %.2f and %.2f mm", template->null_inner_mm, template->null_outer_mm));
    add(&text, dw_say(" · grooves %.2f to %.2f mm", template->groove_inner_mm, template->groove_outer_mm));
    if (!isnan(template->pivot_to_spindle_mm)) {
        double overhang = template->effective_length_mm - template->pivot_to_spindle_mm;
        add(&text, dw_say("\nPivot to spindle %.2f mm · effective length %.2f mm", template->pivot_to_spindle_mm,
                          template->effective_length_mm));
        add(&text, dw_say(overhang < 0 ? "\nShort of the spindle by %.2f mm · offset %.2f°"
                                       : "\nOverhang %.2f mm · offset %.2f°",
                          fabs(overhang), template->offset_deg));
    }
    if (template->skew_deg != 0)
        add(&text, dw_say(template->skew_deg > 0 ? "\nCantilever %.1f° inwards of the body: its lines are drawn so"
                                                 : "\nCantilever %.1f° outwards of the body: its lines are drawn so",
                          fabs(template->skew_deg)));
    return dw_text_take(&text);
}

static double write_steps(const char *const *steps, const DwBox *box, double y, const DwCanvas *canvas)
{
    const DwLetters number = {1, true, DW_INK_ACCENT}, body = {1, false, DW_INK_TEXT};
    for (int i = 0; i == 0 || steps[i - 1]; i++) {
        char *text = dw_text_format("%d", i + 1);
        dw_canvas_write(canvas, number, box->x, y + canvas->em * 0.95, 0, text);
        free(text);
        const char *step = dw_said(i == 0 ? printing : steps[i - 1]);
        y += paragraph(canvas, body, box->x + 5, y, box->width - 5, step) + 1.1;
    }
    return y;
}

static double write_cautions(const DwBox *box, double y, const DwCanvas *canvas)
{
    const DwLetters head = {1, true, DW_INK_TEXT}, body = {1, false, DW_INK_TEXT};
    const double inset = 2.5, width = box->width - 2 * inset, stroke = 0.35;
    double top = y;
    y += inset + canvas->em;
    dw_canvas_write(canvas, head, box->x + inset, y, 0, dw_said("Caution"));
    y += 1.2;
    for (size_t i = 0; i < sizeof cautions / sizeof *cautions; i++)
        y += paragraph(canvas, body, box->x + inset, y, width, dw_said(cautions[i])) + 0.8;
    y += inset - 0.8;
    dw_canvas_use(canvas, DW_INK_TEXT);
    cairo_set_line_width(canvas->cairo, stroke);
    // Wholly within the box, beside which nothing of the page is printed.
    cairo_rectangle(canvas->cairo, box->x + stroke / 2, top, box->width - stroke, y - top);
    cairo_stroke(canvas->cairo);
    return y;
}

double dw_template_words(const DwTemplate *template, const DwTemplateDrawing *drawing, const DwTemplatePlan *plan,
                         const DwCanvas *canvas)
{
    const DwBox *box = &plan->words;
    double y = box->y + canvas->em * 1.7;
    dw_canvas_write(canvas, (DwLetters){1.7, true, DW_INK_TEXT}, box->x, y, 0, dw_said(drawing->title));
    y += 1.5;
    char *record = template->record[0] ? dw_say(" · for %s", dw_said(template->record)) : dw_memory_text("");
    char *head = dw_text_format("%s%s%s%s", dw_said(template->alignment), record, template->deck[0] ? " · " : "",
                                template->deck);
    free(record);
    y += paragraph(canvas, (DwLetters){1, true, DW_INK_ACCENT}, box->x, y, box->width, head) + 0.5;
    free(head);
    char *figures = figures_of(template);
    y += paragraph(canvas, (DwLetters){1, false, DW_INK_TEXT}, box->x, y, box->width, figures) + 2.5;
    free(figures);
    y = write_steps(drawing->steps(template), box, y, canvas) + 1.5;
    y = write_cautions(box, y, canvas) + 2;
    y += paragraph(canvas, (DwLetters){1, false, DW_INK_TEXT}, box->x, y, box->width, dw_said(for_a_camera)) + 1.1;
    return y + paragraph(canvas, (DwLetters){0.9, false, DW_INK_QUIET}, box->x, y, box->width, template->accuracy);
}
