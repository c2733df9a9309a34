// SPDX-License-Identifier: MIT
#include "procedure/sight/pose_taken.h"

#include "procedure/sight/pose_figures.h"

#include <math.h>

static const double usual_95 = 1.96;
static const double floor_mm = 0.02, floor_deg = 0.03; // what paper and print leave; common practice, no source
static const double high_tip_mm = 1.5, other_scale = 0.003;

static const char by_photos[] = "marks, cameras and touched points adjusted together";

typedef struct {
    const DwPoseTaken *taken;
    DwSheet *sheet;
} Filling;

static DwReading *add(const Filling *f, const char *key, const char *label, DwBundleFigure figure, DwPoseOf of,
                      const char *unit, int digits)
{
    double deviation, value = dw_bundled_figure(f->taken->bundled, figure, &of, &deviation);
    double least = unit[0] == 'm' ? floor_mm : floor_deg;
    return dw_sheet_add_estimate(f->sheet, key, label, value, unit, digits,
                                 usual_95 * hypot(deviation, least / usual_95), by_photos);
}

static int point(const Filling *f, DwPosePoint which)
{
    return f->taken->point_at[which];
}

static int line(const Filling *f, DwPoseLine which)
{
    return f->taken->line_at[which];
}

static void add_tip(const Filling *f)
{
    int tip = point(f, DW_POSE_TIP);
    if (tip < 0) {
        dw_sheet_not_measured(f->sheet, "pose.radius", "touch the stylus tip in two photographs (touch.tip).");
        return;
    }
    DwPoseOf of = {.point = tip};
    add(f, "pose.tip_x", "Stylus tip, to the right on the paper", dw_pose_x, of, "mm", 2);
    add(f, "pose.tip_y", "Stylus tip, down on the paper", dw_pose_y, of, "mm", 2);
    const DwReading *over = add(f, "pose.tip_height", "Stylus tip over the paper", dw_pose_height, of, "mm", 2);
    double height = over->value;
    bool high = fabs(height) > high_tip_mm + over->uncertainty;
    if (dw_marked_paper_has_spindle(f->taken->paper))
        add(f, "pose.radius", "Stylus tip from the spindle", dw_pose_radius, of, "mm", 2);
    bool doubted = high || !isnan(f->taken->tip_beside);
    for (size_t i = 0; doubted && i < f->sheet->reading_count; i++)
        f->sheet->readings[i].flags |= DW_FLAG_APPROXIMATE;
    if (!isnan(f->taken->tip_beside))
        dw_sheet_remark(f->sheet,
                        "The tip lies %.2f mm to the %s of its cantilever's line. Is the same point touched in each "
                        "photograph, or is the cantilever bent, or the tip set askew? Look at it from below.",
                        fabs(f->taken->tip_beside), f->taken->tip_beside > 0 ? "right" : "left");
    if (high)
        dw_sheet_remark(f->sheet,
                        "The tip is found %.1f mm %s the paper. Was it lowered, and is the same point touched in each "
                        "photograph?",
                        fabs(height), height > 0 ? "over" : "under");
}

// Each line against the groove at the tip, and against the others.
static void add_angles(const Filling *f)
{
    static const struct {
        const char *key, *label;
        DwPoseLine which;
    } errors[] = {{"pose.cantilever_error", "Cantilever, to be turned inwards to stand tangent", DW_POSE_CANTILEVER},
                  {"pose.body_error", "Cartridge's side, to be turned inwards to stand tangent", DW_POSE_BODY},
                  {"pose.shell_error", "Headshell's side, to be turned inwards to stand tangent", DW_POSE_SHELL}};
    bool on_groove = point(f, DW_POSE_TIP) >= 0 && dw_marked_paper_has_spindle(f->taken->paper);
    for (size_t i = 0; i < sizeof errors / sizeof *errors && on_groove; i++)
        if (line(f, errors[i].which) >= 0)
            add(f, errors[i].key, errors[i].label, dw_pose_error,
                (DwPoseOf){.point = point(f, DW_POSE_TIP), .line = line(f, errors[i].which)}, "deg", 2);
    int cantilever = line(f, DW_POSE_CANTILEVER), body = line(f, DW_POSE_BODY), shell = line(f, DW_POSE_SHELL);
    if (cantilever >= 0 && body >= 0)
        add(f, "cartridge.cantilever_skew", "Cantilever against the body, inwards", dw_pose_turned,
            (DwPoseOf){.line = cantilever, .than = body}, "deg", 2);
    else
        dw_sheet_not_measured(f->sheet, "cartridge.cantilever_skew",
                              "touch both ends of the cantilever and of the cartridge's side in two photographs.");
    if (body >= 0 && shell >= 0)
        add(f, "pose.body_in_shell", "Cartridge in its headshell, turned inwards", dw_pose_turned,
            (DwPoseOf){.line = body, .than = shell}, "deg", 2);
    if (line(f, DW_POSE_ARM) >= 0)
        add(f, "pose.arm_rise", "Arm tube, rising to the rear", dw_pose_rise, (DwPoseOf){.line = line(f, DW_POSE_ARM)},
            "deg", 2);
    if (shell >= 0)
        add(f, "pose.shell_rise", "Headshell, rising to the rear", dw_pose_rise, (DwPoseOf){.line = shell}, "deg", 2);
}

// What is known with the pivot touched: the arm as found, and its slip and twist against the one wanted.
static void add_arm(const Filling *f, const DwArmSetup *setup)
{
    int tip = point(f, DW_POSE_TIP), pivot = point(f, DW_POSE_PIVOT), cantilever = line(f, DW_POSE_CANTILEVER);
    bool known = tip >= 0 && pivot >= 0 && dw_marked_paper_has_spindle(f->taken->paper);
    if (!known) {
        dw_sheet_not_measured(f->sheet, "found.slip",
                              "touch stylus tip and pivot in two photographs of a paper on the spindle (touch.tip, "
                              "touch.pivot); or give align what is found at two radii.");
        dw_sheet_not_measured(f->sheet, "found.twist", "it takes the pivot, too.");
        return;
    }
    DwPoseOf of = {.point = tip, .other = pivot, .line = cantilever};
    add(f, "found.pivot_to_spindle", "Pivot to spindle as mounted", dw_pose_radius, (DwPoseOf){.point = pivot}, "mm",
        2);
    add(f, "pose.effective_length", "Effective length as found", dw_pose_apart, of, "mm", 2);
    if (cantilever >= 0)
        add(f, "pose.offset", "Offset angle as found", dw_pose_offset, of, "deg", 2);
    if (!setup || setup->kind == DW_ARM_LINEAR) {
        dw_sheet_not_measured(f->sheet, "found.slip", "state the arm: arm.pivot_to_spindle and arm.effective_length.");
        return;
    }
    double deviation,
        distance = dw_bundled_figure(f->taken->bundled, dw_pose_radius, &(DwPoseOf){.point = pivot}, &deviation);
    DwArm wanted = dw_arm_setup_at_distance(setup->kind, setup->nulls, distance);
    of.wanted = &wanted;
    add(f, "found.slip", "Stylus out of place", dw_pose_slip, of, "mm", 2);
    if (cantilever >= 0)
        add(f, "found.twist", "Cartridge turned", dw_pose_twist, of, "deg", 2);
}

static void add_scale(const Filling *f, double known_mm)
{
    int from = point(f, DW_POSE_KNOWN_FROM), to = point(f, DW_POSE_KNOWN_TO);
    if (from < 0 || to < 0 || isnan(known_mm))
        return;
    double deviation, scale = f->taken->bundle.scale;
    double seen =
        dw_bundled_figure(f->taken->bundled, dw_pose_apart, &(DwPoseOf){.point = from, .other = to}, &deviation);
    double found = scale * known_mm / seen;
    dw_sheet_add_estimate(f->sheet, "print.scale", "Scale of the print, by the known thing", 100 * found, "%", 2,
                          100 * usual_95 * deviation / seen, by_photos);
    if (fabs(found / scale - 1) > fmax(other_scale, usual_95 * deviation / seen))
        dw_sheet_remark(
            f->sheet,
            "The print is not to the scale that was counted on: measure its rulers, then give print.scale=%.2f%% "
            "and measure again; lengths here are as wrong as that.",
            100 * found);
}

// What to type for align, where it can be said.
static void tell_align(const Filling *f)
{
    const DwReading *radius = dw_sheet_reading(f->sheet, "pose.radius"),
                    *error = dw_sheet_reading(f->sheet, "pose.cantilever_error");
    if (!radius || !error)
        return;
    dw_sheet_remark(f->sheet,
                    "For align: found.error_at=%.2f:%.2f found.line=cantilever found.angle_uncertainty=%.2fdeg "
                    "found.radius_uncertainty=%.2fmm; with the same at the other point the arm as found follows.",
                    radius->value, error->value, fmax(0.05, error->uncertainty), fmax(0.05, radius->uncertainty));
}

// Lines whose edges do not belong together, and what to do.
static void tell_left(const Filling *f)
{
    const bool *is_left = f->taken->is_left;
    if (is_left[DW_POSE_ARM])
        dw_sheet_remark(f->sheet,
                        "The two sides of the arm tube that stand out are not those of one even, round tube in all "
                        "photographs: there the touches count, with their own ±. Touch a stretch of even width, clear "
                        "of leads and shadows, over plain paper.");
    if (is_left[DW_POSE_CANTILEVER] || is_left[DW_POSE_BODY] || is_left[DW_POSE_SHELL])
        dw_sheet_remark(f->sheet,
                        "Along a touched line the photographs show different edges, which cannot be one and the same: "
                        "there the touches count, with their own ±. Touch an edge that all photographs show well.");
}

static void tell_photos(const Filling *f)
{
    dw_sheet_add_reading(f->sheet, "pose.rest", "What the edges of the marks are off",
                         dw_bundled_rest(f->taken->bundled), "px", 2);
    if (f->taken->unsnapped)
        dw_sheet_remark(
            f->sheet,
            "Along %zu touched line%s no clear edge is seen; there the touch counts, with its own ±. A nearer "
            "picture with the light from the side shows edges.",
            f->taken->unsnapped, f->taken->unsnapped == 1 ? "" : "s");
    tell_left(f);
    dw_sheet_remark(f->sheet, "The rake of the tip itself is too small for this: it takes the microscope (rake).");
    dw_sheet_caution(f->sheet,
                     "Motor off and plug out. Lower the stylus with the lift, and never turn the paper under it.");
}

void dw_pose_sheet_fill(const DwPoseTaken *taken, const DwArmSetup *setup, double known_mm, DwSheet *sheet)
{
    const Filling f = {taken, sheet};
    add_tip(&f);
    add_arm(&f, setup);
    add_angles(&f);
    add_scale(&f, known_mm);
    tell_photos(&f);
    tell_align(&f);
}
