// SPDX-License-Identifier: MIT
// belt: inner length and evenness of a belt that lies on the card, from one photograph.
#include "base/memory.h"
#include "procedure/registry/procedures.h"
#include "procedure/sight/photo_marks.h"
#include "sight/bundle.h"
#include "sight/outline.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const quantities[] = {"belt.thickness", "print.scale", "drive.belt_length", "deck.name", NULL};

enum { MARKS_LEAST = 4, PIECES_MOST = 4000 };

static const double cell_mm = 0.15, inset_mm = 1, piece_mm = 0.5, smooth_mm = 0.7;
static const double white_light = 200; // what the view from above makes of the marks' white, of 255
static const double least_area_mm2 = 300, other_area_mm2 = 20, most_rest_px = 2, most_aslant_deg = 30;
// What remains of the print, its rulers measured to 0.15 mm in 100, and of an edge; common practice, no source.
static const double print_share = 0.0015, edge_mm = 0.1;
static const double hump_share = 0.12;

// A belt seen from above, in millimetres of the card.
typedef struct {
    DwPhoto photo;
    DwBundle bundle;
    DwMarkedPaper paper;
    DwBundled *bundled;
    double half_width, half_height, scale;
    DwOutline outline;
    DwPoint *at; // the inner outline, evenly stepped, on the belt's inner side
    double *width;
    size_t count;
    double length;
} Belt;

static DwPoint card_of(const Belt *belt, double x, double y)
{
    return (DwPoint){(x * cell_mm - belt->half_width) * belt->scale, (y * cell_mm - belt->half_height) * belt->scale};
}

// The light of what is white where the marks are: those that are seen tell it.
static double white_of(const Belt *belt)
{
    double sum = 0;
    const DwBundlePhoto *photo = &belt->bundle.photos[0];
    for (size_t i = 0; i < photo->count; i++)
        sum += photo->marks[i].edges.white / (double)photo->count;
    return fmax(1, dw_grey_light_of((uint8_t)sum));
}

// Paints the marks and their ground white in the view from above.
static void hide_marks(const Belt *belt, uint8_t *pixels, int width, int height)
{
    for (size_t i = 0; i < dw_paper_marks_count(belt->paper); i++) {
        DwPaperMark mark = dw_paper_mark(belt->paper, i);
        double reach = mark.size_mm * (0.5 + 1.0 / 16);
        int left = (int)((mark.x_mm - reach + belt->half_width) / cell_mm), right = left + (int)(2 * reach / cell_mm);
        int top = (int)((mark.y_mm - reach + belt->half_height) / cell_mm), foot = top + (int)(2 * reach / cell_mm);
        for (int y = top < 0 ? 0 : top; y <= foot && y < height; y++)
            for (int x = left < 0 ? 0 : left; x <= right && x < width; x++)
                pixels[(ptrdiff_t)y * width + x] = (uint8_t)white_light;
    }
}

// The light of the card as seen from right above, the lens's bending and the slant taken out.
static uint8_t *look_from_above(const Belt *belt, DwGrey *above)
{
    int width = (int)(2 * belt->half_width / cell_mm), height = (int)(2 * belt->half_height / cell_mm);
    uint8_t *pixels = dw_memory_new((size_t)width * (size_t)height, 1);
    double white = white_of(belt);
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++) {
            double sum = 0;
            for (int part = 0; part < 4; part++) {
                DwPoint at = card_of(belt, x + 0.25 + 0.5 * (part % 2), y + 0.25 + 0.5 * (part / 2));
                DwPlace place = {at.x, at.y, 0};
                sum += dw_grey_light_at(&belt->photo.grey, dw_bundled_see(belt->bundled, &belt->bundle, 0, place)) / 4;
            }
            pixels[(ptrdiff_t)y * width + x] = (uint8_t)fmin(255, white_light * sum / white + 0.5);
        }
    hide_marks(belt, pixels, width, height);
    *above = (DwGrey){width, height, width, pixels};
    return pixels;
}

// Steps evenly along the outline, each place a smooth mean of those about it.
static void step_along(Belt *belt)
{
    const DwOutline *outline = &belt->outline;
    size_t n = outline->count;
    double *far = dw_memory_new(n + 1, sizeof *far);
    for (size_t i = 0; i < n; i++) {
        DwPoint a = outline->points[i], b = outline->points[(i + 1) % n];
        far[i + 1] = far[i] + cell_mm * belt->scale * hypot(b.x - a.x, b.y - a.y);
    }
    belt->count = (size_t)fmin(PIECES_MOST, ceil(far[n] / piece_mm));
    belt->at = dw_memory_new(belt->count, sizeof *belt->at);
    belt->width = dw_memory_new(belt->count, sizeof *belt->width);
    for (size_t k = 0, from = 0; k < belt->count; k++) {
        double here = far[n] * (double)k / (double)belt->count, sum = 0, x = 0, y = 0, wide = 0, wides = 0;
        while (from + 1 < n && far[from + 1] < here)
            from++;
        for (int off = -60; off <= 60; off++) {
            size_t i = (from + n + (size_t)(off + 60) - 60) % n;
            double apart = fabs(far[i] - here);
            apart = fmin(apart, far[n] - apart) / smooth_mm;
            double weight = exp(-apart * apart / 2);
            sum += weight;
            x += weight * outline->points[i].x;
            y += weight * outline->points[i].y;
            if (!isnan(outline->widths[i])) {
                wide += weight * outline->widths[i];
                wides += weight;
            }
        }
        belt->at[k] = card_of(belt, x / sum, y / sum);
        belt->width[k] = wides > 0 ? wide / wides * cell_mm * belt->scale : NAN;
    }
    free(far);
}

// Moves the outline onto the belt's inner side: what faces the camera is seen down to the card, of what turns away the
// upper edge is. Widths lose what is seen of a side.
static void take_height_out(Belt *belt, double height)
{
    DwPlace eye = dw_bundled_camera(belt->bundled, 0);
    DwPoint *moved = dw_memory_new(belt->count, sizeof *moved);
    for (size_t i = 0; i < belt->count; i++) {
        DwPoint from = belt->at[(i + belt->count - 2) % belt->count], to = belt->at[(i + 2) % belt->count],
                at = belt->at[i];
        double length = hypot(to.x - from.x, to.y - from.y);
        double out_x = (to.y - from.y) / length, out_y = -(to.x - from.x) / length;
        double share = height / -eye.z, facing = out_x * (at.x - eye.x) + out_y * (at.y - eye.y);
        moved[i] = at;
        if (facing < 0)
            moved[i] = (DwPoint){at.x + share * (eye.x - at.x), at.y + share * (eye.y - at.y)};
        belt->width[i] -= share * fabs(facing);
    }
    belt->length = 0;
    for (size_t i = 0; i < belt->count; i++) {
        DwPoint a = moved[i], b = moved[(i + 1) % belt->count];
        belt->length += hypot(b.x - a.x, b.y - a.y);
    }
    memcpy(belt->at, moved, belt->count * sizeof *moved);
    free(moved);
}

// How far aslant the camera looks at the card's middle.
static double aslant_deg(const Belt *belt)
{
    DwPlace eye = dw_bundled_camera(belt->bundled, 0);
    return atan2(hypot(eye.x, eye.y), -eye.z) * 180 / M_PI;
}

static DwStatus find_belt(const DwRequest *request, Belt *belt, DwMessage *message)
{
    const char *path = request->recordings[0];
    DwGrey above;
    if (dw_marked_paper_has_spindle(belt->paper))
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: it shows the %s. Lay the belt on the card (template card --out FILE.pdf).", path,
                       dw_marked_paper_name(belt->paper));
    belt->bundled = dw_bundle_adjust(&belt->bundle);
    if (!belt->bundled || dw_bundled_rest(belt->bundled) > most_rest_px)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: the marks do not lie as on the card. Lay it flat and photograph it again, in focus.", path);
    if (aslant_deg(belt) > most_aslant_deg)
        return dw_fail(
            message, DW_BAD_INPUT,
            "%s: it is taken %.0f° aslant. Photograph the belt from above, the camera over the card's middle.", path,
            aslant_deg(belt));
    dw_paper_card_reach(belt->paper, &belt->half_width, &belt->half_height);
    belt->half_width -= inset_mm;
    belt->half_height -= inset_mm;
    uint8_t *pixels = look_from_above(belt, &above);
    bool found = dw_outline_find(&above, least_area_mm2 / (cell_mm * cell_mm), &belt->outline);
    free(pixels);
    if (!found)
        return dw_fail(
            message, DW_BAD_INPUT,
            "%s: no closed belt is found on the card. Lay it between the marks without crossing itself, wipe "
            "chalk off, and light it without shadows.",
            path);
    if (belt->outline.other * cell_mm * cell_mm > other_area_mm2)
        return dw_fail(message, DW_BAD_INPUT,
                       "%s: more than one closed ring is seen on the card: the belt crosses or touches itself, or "
                       "something else lies there. Lay the belt alone, in one open loop.",
                       path);
    step_along(belt);
    take_height_out(belt, dw_inputs_in(request->inputs, "belt.thickness", "mm"));
    return DW_OK;
}

static int compare(const void *a, const void *b)
{
    double one = *(const double *)a, two = *(const double *)b;
    return (one > two) - (one < two);
}

static void tell_width(const Belt *belt, DwSheet *sheet)
{
    double *sorted = dw_memory_new(belt->count, sizeof *sorted), most = 0;
    size_t count = 0, widest = 0, topmost = 0;
    for (size_t i = 0; i < belt->count; i++) {
        topmost = belt->at[i].y < belt->at[topmost].y ? i : topmost;
        if (isnan(belt->width[i]))
            continue;
        sorted[count++] = belt->width[i];
        if (belt->width[i] > most) {
            most = belt->width[i];
            widest = i;
        }
    }
    qsort(sorted, count, sizeof *sorted, compare);
    if (count > belt->count / 2) {
        double middle = sorted[count / 2], low = sorted[count / 20], high = sorted[count - 1 - count / 20];
        dw_sheet_add_reading(sheet, "belt.width", "Width as seen from above", middle, "mm", 2)->flags |=
            DW_FLAG_APPROXIMATE;
        dw_sheet_add_estimate(sheet, "belt.width_variation", "Width, from thin to thick", 100 * (high - low) / middle,
                              "%", 1, 100 * edge_mm / middle, "outline of the belt on the card");
        double along = belt->length * (double)((widest + belt->count - topmost) % belt->count) / (double)belt->count;
        if (most / middle - 1 > fmax(hump_share, 2 * edge_mm / middle))
            dw_sheet_remark(
                sheet,
                "It is thickest, %.2f mm, %.0f mm clockwise along the inside from its upmost place on the card: "
                "a joint, a hump or dirt.",
                most, along);
    } else
        dw_sheet_not_measured(sheet, "belt.width", "the belt's outside is not clear of the marks or of shadows.");
    free(sorted);
}

static void tell(const DwRequest *request, const Belt *belt, DwSheet *sheet)
{
    double off = hypot(print_share * belt->length, 2 * edge_mm);
    dw_sheet_add_estimate(sheet, "belt.length", "Inner length of the belt, lying free", belt->length, "mm", 1, off,
                          "outline of the belt on the card");
    double stated = dw_inputs_in(request->inputs, "drive.belt_length", "mm");
    if (!isnan(stated))
        dw_sheet_add_estimate(sheet, "belt.growth", "Longer than when new", 100 * (belt->length / stated - 1), "%", 2,
                              100 * off / stated, "outline of the belt on the card");
    tell_width(belt, sheet);
    dw_sheet_add_reading(sheet, "belt.rest", "What the edges of the marks are off", dw_bundled_rest(belt->bundled),
                         "px", 2);
    dw_sheet_remark(sheet, "Lying free the belt is not stretched: what it measures on the pulleys is longer.");
    dw_sheet_remark(sheet,
                    "For drive: drive.belt_length=%.1fmm. A picture cannot see a print that is too small: measure the "
                    "card's rulers, and give print.scale where they are off.",
                    belt->length);
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    Belt belt = {.scale = dw_inputs_in(request->inputs, "print.scale", "fraction")};
    DwBundlePhoto *photo = &belt.bundle.photos[0];
    DwMarkFinder *finder = dw_mark_finder_new();
    DwStatus status = dw_photo_marks_read(request->recordings[0], finder, MARKS_LEAST, &belt.photo, photo->marks,
                                          &photo->count, &belt.paper, message);
    dw_mark_finder_free(finder);
    if (status != DW_OK)
        return status;
    photo->width = belt.photo.grey.width;
    photo->height = belt.photo.grey.height;
    belt.bundle.photo_count = 1;
    belt.bundle.scale = belt.scale;
    status = find_belt(request, &belt, message);
    if (status == DW_OK) {
        const char *name = strrchr(request->recordings[0], '/');
        dw_sheet_set_subject(sheet, name ? name + 1 : request->recordings[0]);
        tell(request, &belt, sheet);
    }
    dw_photo_clear(&belt.photo);
    dw_bundled_free(belt.bundled);
    dw_outline_clear(&belt.outline);
    free(belt.at);
    free(belt.width);
    return status;
}

const DwProcedure dw_procedure_belt = {
    .name = "belt",
    .title = "Belt by photograph",
    .summary = "Measure a belt's inner length and evenness from a photograph of it on the card with marks.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = 1,
    .takes = DW_TAKES_PHOTOS,
    .run = run,
};
