// SPDX-License-Identifier: MIT
#include "procedure/sight/view_set_up.h"

#include "chart/template/marks_paper.h"
#include "procedure/align/arm_setup.h"
#include "procedure/align/template_marks.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *const dw_view_touches[DW_TOUCHES] = {"touch.tip",         "touch.cantilever_root", "touch.cantilever_front",
                                                 "touch.body_rear",   "touch.body_front",      "touch.shell_rear",
                                                 "touch.shell_front", "touch.arm_rear",        "touch.arm_front"};

static const double degree = M_PI / 180;
static const double focal_share = 0.8; // of the picture's width, as telephones have it; common practice, no source
static const double platter_light = 0.04, table_light = 0.2;
// The cantilever, its rise; body and headshell: long, wide, high; how the tube leaves it. An invented cartridge.
static const double cantilever_mm = 5.5, cantilever_rise = 20, body_mm[3] = {24, 16, 11}, shell_mm[3] = {36, 11, 2.5};
static const double tube_turn = 20, tube_mm = 75, tube_radius_mm = 4.5, body_over_mm = 0.8, shell_back_mm = 4;
static const double belt_clear_mm = 5; // from the marks
static const double usual_belt_mm = 400;

static DwViewKind kind_of(const DwInputs *inputs, bool is_film)
{
    const char *word = dw_inputs_word(inputs, "synth.scene");
    return is_film || strcmp(word, "disc") == 0 ? DW_VIEW_DISC
           : strcmp(word, "belt") == 0          ? DW_VIEW_BELT
           : strcmp(word, "card") == 0          ? DW_VIEW_CARD
                                                : DW_VIEW_ARM;
}

static DwStatus draw_grid(const DwInputs *inputs, double per_mm, DwPagePicture *page, double *null_mm,
                          DwMessage *message)
{
    DwArmSetup setup;
    DwStatus status = dw_arm_setup_read_record(inputs, &setup, message);
    if (status != DW_OK)
        return status;
    *null_mm = setup.nulls.inner_mm;
    const DwTemplate grid = {.kind = DW_TEMPLATE_GRID,
                             .paper = dw_template_sheet_of(inputs),
                             .printer_x_mm = 100,
                             .printer_y_mm = 100,
                             .pivot_to_spindle_mm = NAN,
                             .effective_length_mm = NAN,
                             .offset_deg = NAN,
                             .null_inner_mm = setup.nulls.inner_mm,
                             .null_outer_mm = setup.nulls.outer_mm,
                             .groove_inner_mm = setup.groove.inner_mm,
                             .groove_outer_mm = setup.groove.outer_mm,
                             .alignment = "",
                             .record = "",
                             .deck = "",
                             .accuracy = ""};
    return dw_template_picture(&grid, per_mm, page, message);
}

static DwMarkedPaper paper_of(const DwInputs *inputs, DwViewKind kind)
{
    bool is_large = dw_template_sheet_of(inputs) == DW_TEMPLATE_A3;
    if (kind == DW_VIEW_DISC)
        return is_large ? DW_MARKED_DISC_LARGE : DW_MARKED_DISC;
    return is_large ? DW_MARKED_CARD_LARGE : DW_MARKED_CARD;
}

static void take_page(DwViewSetUp *set_up, const DwPagePicture *page)
{
    DwViewPaper *paper = &set_up->scene.paper;
    *paper = (DwViewPaper){page->pixels,   page->width,    page->height, page->per_mm,
                           page->origin_x, page->origin_y, paper->scale, paper->cut_mm};
}

static void along(const double from[3], double far, const double way[3], double out[3])
{
    for (int i = 0; i < 3; i++)
        out[i] = from[i] + far * way[i];
}

static void level(double angle, double way[3])
{
    way[0] = cos(angle);
    way[1] = sin(angle);
    way[2] = 0;
}

// The lower or upper edge of a box to the left of AHEAD, which leads to its rear: from front to rear.
static void edge_of(const double front[3], const double ahead[3], const double size[3], double up_mm, double first[3],
                    double last[3])
{
    const double across[3] = {ahead[1], -ahead[0], 0};
    along(front, size[1] / 2, across, first);
    first[2] -= up_mm;
    along(first, size[0], ahead, last);
}

// The tip stands on the inner point of the grid or at the stated radius, right of the spindle; there the groove runs
// down the page, and so does the nose point, but for what it errs outwards.
static void stand_arm(const DwInputs *inputs, double null_mm, DwViewSetUp *set_up)
{
    DwScene *scene = &set_up->scene;
    double radius = dw_inputs_in(inputs, "record.radius", "mm"),
           skew = dw_inputs_in(inputs, "cartridge.cantilever_skew", "deg");
    set_up->radius_mm = isnan(radius) ? null_mm : radius;
    set_up->skew_deg = isnan(skew) ? 0 : skew;
    set_up->body_error_deg = dw_inputs_in(inputs, "synth.body_error", "deg");
    set_up->rise_deg = dw_inputs_in(inputs, "synth.arm_rise", "deg");
    // From the nose to the rear; an error turns the nose outwards, to the right, and the rear to the left.
    double rear = (-90 - set_up->body_error_deg) * degree, tube = rear + tube_turn * degree;
    double slant = rear + set_up->skew_deg * degree, back[3], ahead[3], rod[3];
    level(slant, rod);
    level(rear, ahead);
    level(tube, back);
    for (int i = 0; i < 2; i++) {
        rod[i] *= cos(cantilever_rise * degree);
        back[i] *= cos(set_up->rise_deg * degree);
    }
    rod[2] = -sin(cantilever_rise * degree);
    back[2] = -sin(set_up->rise_deg * degree);
    double tip[3] = {set_up->radius_mm, 0, 0}, thin[3], root[3], front[3], head[3], neck[3], end[3];
    along(tip, 0.08 * cantilever_mm, rod, thin);
    along(tip, cantilever_mm, rod, root);
    dw_scene_add_rod(scene, tip, thin, 0.1, 0.5);
    dw_scene_add_rod(scene, thin, root, 0.26, 0.5);
    along(tip, 0.85 * cantilever_mm, ahead, front);
    front[2] = root[2] - body_over_mm;
    dw_scene_add_box(scene, front, ahead, body_mm, 0.12);
    along(front, shell_back_mm, ahead, head);
    head[2] -= body_mm[2];
    dw_scene_add_box(scene, head, ahead, shell_mm, 0.5);
    along(head, shell_mm[0], ahead, neck);
    neck[2] -= shell_mm[2] / 2;
    along(neck, tube_mm, back, end);
    dw_scene_add_rod(scene, neck, end, tube_radius_mm, 0.6);
    double(*touch)[3] = set_up->touches;
    memcpy(touch[DW_TOUCH_TIP], tip, sizeof tip);
    along(tip, 0.7 * cantilever_mm, rod, touch[DW_TOUCH_CANTILEVER_ROOT]);
    along(tip, 0.1 * cantilever_mm, rod, touch[DW_TOUCH_CANTILEVER_FRONT]);
    edge_of(front, ahead, body_mm, body_mm[2], touch[DW_TOUCH_BODY_FRONT], touch[DW_TOUCH_BODY_REAR]);
    edge_of(head, ahead, shell_mm, shell_mm[2], touch[DW_TOUCH_SHELL_FRONT], touch[DW_TOUCH_SHELL_REAR]);
    along(neck, 0.15 * tube_mm, back, touch[DW_TOUCH_ARM_FRONT]);
    along(neck, 0.6 * tube_mm, back, touch[DW_TOUCH_ARM_REAR]);
    along(tip, 6, ahead, set_up->target);
    set_up->front_rad = rear + M_PI;
}

static DwStatus lay_belt(const DwInputs *inputs, DwViewSetUp *set_up, DwMessage *message)
{
    double stated = dw_inputs_in(inputs, "drive.belt_length", "mm"),
           wall = dw_inputs_in(inputs, "drive.belt_thickness", "mm");
    double width, height;
    DwMarkedPaper paper = paper_of(inputs, set_up->kind);
    DwPaperMark mark = dw_paper_mark(paper, 0);
    width = fabs(mark.x_mm) - mark.size_mm / 2 - belt_clear_mm;
    height = fabs(mark.y_mm) - mark.size_mm / 2 - belt_clear_mm;
    set_up->length_mm = isnan(stated) ? usual_belt_mm : stated;
    DwViewBelt *belt = &set_up->scene.belt;
    // As much straight as half a circle is wide across: 2 pi r + 2 r all round.
    *belt = (DwViewBelt){.radius_mm = set_up->length_mm / (2 * M_PI + 2), .turn = M_PI / 2};
    belt->straight_mm = belt->radius_mm;
    belt->wall_mm = isnan(wall) ? 1 : wall;
    belt->high_mm = dw_inputs_in(inputs, "belt.thickness", "mm");
    double out = belt->radius_mm + belt->wall_mm, most = fmin(width, height - belt->straight_mm / 2);
    if (out > most || belt->radius_mm < 4 * belt->wall_mm)
        return dw_fail(message, DW_BAD_INPUT,
                       out > most ? "drive.belt_length: a belt of %.0f mm does not lie free between the card's marks. "
                                    "Give another length, or template.paper=a3 for the large card."
                                  : "drive.belt_length: a belt of %.0f mm does not lie free between the card's marks. "
                                    "Give another length.",
                       set_up->length_mm);
    return DW_OK;
}

// The paper is drawn as finely as the camera sees it.
static double fineness(const DwViewSetUp *set_up, const DwInputs *inputs, bool is_film)
{
    DwViewCamera camera;
    dw_view_set_up_aim(set_up, inputs, is_film, 0, 1, &camera);
    const double *at = camera.at, *to = set_up->target;
    double far = sqrt(pow(at[0] - to[0], 2) + pow(at[1] - to[1], 2) + pow(at[2] - to[2], 2));
    return fmin(fmax(2 * camera.focus_px / far, 4), 24);
}

DwStatus dw_view_set_up_read(const DwInputs *inputs, bool is_film, DwViewSetUp *set_up, DwMessage *message)
{
    *set_up = (DwViewSetUp){.kind = kind_of(inputs, is_film)};
    bool is_disc = set_up->kind == DW_VIEW_DISC, is_arm = set_up->kind == DW_VIEW_ARM;
    const DwMarksPaper marks = {paper_of(inputs, set_up->kind), dw_template_sheet_of(inputs), 100, 100};
    set_up->scene.beside = is_disc ? platter_light : table_light;
    set_up->scene.paper.scale = dw_inputs_in(inputs, "print.scale", "fraction");
    set_up->scene.paper.cut_mm = is_disc ? dw_paper_disc_radius(marks.paper) : NAN;
    double width, height, null_mm = NAN;
    if (is_disc)
        set_up->reach_mm = dw_paper_disc_radius(marks.paper);
    else if (!is_arm) {
        dw_paper_card_reach(marks.paper, &width, &height);
        set_up->reach_mm = height;
    }
    DwPagePicture page = {0};
    double per_mm = fineness(set_up, inputs, is_film);
    DwStatus status = is_arm ? draw_grid(inputs, per_mm, &page, &null_mm, message)
                             : dw_marks_paper_picture(&marks, per_mm, &page, message);
    take_page(set_up, &page);
    if (status == DW_OK && is_arm)
        stand_arm(inputs, null_mm, set_up);
    else if (status == DW_OK && set_up->kind == DW_VIEW_BELT)
        status = lay_belt(inputs, set_up, message);
    if (status != DW_OK)
        dw_view_set_up_clear(set_up);
    return status;
}

void dw_view_set_up_clear(DwViewSetUp *set_up)
{
    free((void *)set_up->scene.paper.pixels);
    *set_up = (DwViewSetUp){0};
}

// The side that the INDEXth of COUNT cameras looks from, where none is given.
static double usual_side(const DwViewSetUp *set_up, size_t index, size_t count)
{
    if (set_up->kind != DW_VIEW_ARM)
        return 90 - 60 * (double)index;
    return count < 2 ? 0 : 40 - 80 * (double)index / (double)(count - 1);
}

void dw_view_set_up_aim(const DwViewSetUp *set_up, const DwInputs *inputs, bool is_film, size_t index, size_t count,
                        DwViewCamera *camera)
{
    double width = dw_inputs_in(inputs, "synth.picture_width", ""),
           tilt = dw_inputs_in(inputs, "synth.camera_tilt", "rad");
    double distance = dw_inputs_in(inputs, "synth.camera_distance", "mm"),
           side = dw_inputs_in_at(inputs, "synth.camera_side", index, "deg");
    bool is_arm = set_up->kind == DW_VIEW_ARM;
    if (isnan(width))
        width = is_film ? 1280 : 3200;
    if (isnan(tilt))
        tilt = (is_film ? 25 : is_arm ? 40 : 6) * degree;
    if (isnan(side))
        side = usual_side(set_up, index, count);
    // Even sides, which films want.
    *camera =
        (DwViewCamera){.width = (int)(width / 2) * 2, .height = (int)(width * (is_film ? 9 / 16.0 : 0.75) / 2) * 2};
    camera->focus_px = focal_share * camera->width;
    camera->bend[0] = dw_inputs_in(inputs, "synth.lens_bend", "fraction");
    if (isnan(distance) && is_arm)
        distance = 150;
    else if (isnan(distance))
        distance = camera->focus_px * 2 * set_up->reach_mm / (0.88 * camera->height) + set_up->reach_mm * sin(tilt);
    dw_view_camera_aim(camera, set_up->target, distance, tilt, set_up->front_rad + side * degree);
}
