// SPDX-License-Identifier: MIT
#include "procedure/align/headshell.h"

#include <math.h>
#include <string.h>

static const struct {
    const char *word, *name, *way, *slide, *twist;
} kinds[] = {
    [DW_SHELL_SLOTS] = {"slots", "slots", "along the slots", "Slide along the slots (+ forward)",
                        "Twist about the screws (+ inwards)"},
    [DW_SHELL_SLIDE] = {"slide", "a slide without twist", "along the slide", "Slide along the guide (+ forward)",
                        "Twist: the guide allows none"},
    [DW_SHELL_HOLES] = {"holes", "plain holes", "in the holes' clearance", "Slide in the holes' clearance (+ forward)",
                        "Twist in the holes' clearance (+ inwards)"},
    [DW_SHELL_FIXED] = {"fixed", "nothing that moves", "", "Slide: nothing moves", "Twist: nothing moves"},
    [DW_SHELL_PLUGIN] = {"plugin", "a plug-in shell in its collet", "in the collet",
                         "Shell out of its collet (+ forward)", "Twist: the collet allows none"},
};

const char *dw_shell_name(DwShellKind kind)
{
    return kinds[kind].name;
}

const char *dw_shell_way(DwShellKind kind)
{
    return kinds[kind].way;
}

const char *dw_shell_slide_label(DwShellKind kind)
{
    return kinds[kind].slide;
}

const char *dw_shell_twist_label(DwShellKind kind)
{
    return kinds[kind].twist;
}

static bool travels(DwShellKind kind)
{
    return kind == DW_SHELL_SLOTS || kind == DW_SHELL_SLIDE || kind == DW_SHELL_PLUGIN;
}

// No length of slots is how plain holes are told of as well.
static DwShellKind read_kind(const DwInputs *inputs)
{
    const char *word = dw_inputs_word(inputs, "arm.headshell");
    if (!dw_inputs_given(inputs, "arm.headshell") && dw_inputs_in(inputs, "arm.slot_length", "mm") == 0)
        return DW_SHELL_HOLES;
    for (int kind = 0; kind < DW_SHELL_COUNT; kind++)
        if (strcmp(word, kinds[kind].word) == 0)
            return (DwShellKind)kind;
    return DW_SHELL_SLOTS;
}

static DwHeadshell allowed_by(const DwInputs *inputs, DwShellKind kind)
{
    double travel = dw_inputs_in(inputs, "arm.slot_length", "mm");
    double forward = dw_inputs_in(inputs, "found.slot_forward", "mm");
    if (isnan(travel))
        travel = INFINITY;
    if (isnan(forward))
        forward = travel / 2;
    if (kind == DW_SHELL_HOLES)
        return dw_headshell_holes(dw_inputs_in(inputs, "arm.hole_clearance", "mm"));
    if (kind == DW_SHELL_FIXED)
        return (DwHeadshell){0, 0, 0, 0};
    return (DwHeadshell){forward, isinf(travel) ? INFINITY : travel - forward, kind == DW_SHELL_SLOTS ? INFINITY : 0,
                         0};
}

DwStatus dw_shell_read(const DwInputs *inputs, DwShell *shell, DwMessage *message)
{
    double travel = dw_inputs_in(inputs, "arm.slot_length", "mm");
    double forward = dw_inputs_in(inputs, "found.slot_forward", "mm");
    DwShellKind kind = read_kind(inputs);
    if (!isnan(forward) && isnan(travel))
        return dw_fail(message, DW_BAD_INPUT, "found.slot_forward needs arm.slot_length, the whole travel, beside it.");
    if (!travels(kind) && travel > 0)
        return dw_fail(message, DW_BAD_INPUT,
                       "arm.headshell=%s has no travel, but arm.slot_length is %g mm. Leave one of the two out.",
                       kinds[kind].word, travel);
    if (forward > travel)
        return dw_fail(message, DW_BAD_INPUT, "found.slot_forward (%g mm) is more than arm.slot_length (%g mm).",
                       forward, travel);
    *shell = (DwShell){kind, !isnan(travel) || !travels(kind), allowed_by(inputs, kind)};
    return DW_OK;
}

DwShell dw_shell_other(const DwInputs *inputs, const DwShell *shell, DwShellKind kind)
{
    return (DwShell){kind, shell->travel_known || !travels(kind), allowed_by(inputs, kind)};
}
