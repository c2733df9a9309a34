// SPDX-License-Identifier: MIT
// pose: where stylus, cantilever, cartridge, headshell and arm stand, from two or more photographs over a paper with
// marks.
#include "procedure/registry/procedures.h"
#include "procedure/sight/pose_taken.h"

static const char *const quantities[] = {
    "touch.tip",
    "touch.cantilever_root",
    "touch.cantilever_front",
    "touch.body_rear",
    "touch.body_front",
    "touch.shell_rear",
    "touch.shell_front",
    "touch.arm_rear",
    "touch.arm_front",
    "touch.pivot",
    "touch.known_from",
    "touch.known_to",
    "touch.uncertainty",
    "touch.snap",
    "print.known",
    "print.scale",
    "arm.kind",
    "arm.pivot_to_spindle",
    "arm.effective_length",
    "arm.overhang",
    "arm.offset",
    "align.method",
    "record.groove",
    "deck.class",
    "deck.name",
    NULL,
};

static bool states_arm(const DwInputs *inputs)
{
    return dw_inputs_given(inputs, "arm.pivot_to_spindle") || dw_inputs_given(inputs, "arm.effective_length") ||
           dw_inputs_given(inputs, "arm.overhang") || dw_inputs_given(inputs, "arm.offset");
}

static DwStatus run(const DwRequest *request, DwSheet *sheet, DwMessage *message)
{
    DwArmSetup setup;
    DwPoseTaken taken;
    bool stated = states_arm(request->inputs);
    DwStatus status = stated ? dw_arm_setup_read(request->inputs, &setup, message) : DW_OK;
    if (status != DW_OK)
        return status;
    status = dw_pose_taken_read(request, &taken, message);
    if (status == DW_OK)
        dw_pose_sheet_fill(&taken, stated ? &setup : NULL, dw_inputs_in(request->inputs, "print.known", "mm"), sheet);
    dw_pose_taken_clear(&taken);
    return status;
}

const DwProcedure dw_procedure_pose = {
    .name = "pose",
    .title = "Arm and cartridge by photograph",
    .summary = "Measure where stylus, cantilever, cartridge and arm stand, from photographs over a paper with marks.",
    .quantities = quantities,
    .recordings_least = 1,
    .recordings_most = DW_BUNDLE_PHOTOS_MOST,
    .takes_differ = true,
    .run = run,
};
