// SPDX-License-Identifier: MIT
// Photographs of one set-up over a paper with marks, and what was touched in them.
#ifndef DW_PROCEDURE_POSE_TAKEN_H
#define DW_PROCEDURE_POSE_TAKEN_H

#include "procedure/align/arm_setup.h"
#include "procedure/registry/procedure.h"
#include "sight/bundle.h"

typedef enum { DW_POSE_TIP, DW_POSE_PIVOT, DW_POSE_KNOWN_FROM, DW_POSE_KNOWN_TO, DW_POSE_POINTS } DwPosePoint;
typedef enum { DW_POSE_CANTILEVER, DW_POSE_BODY, DW_POSE_SHELL, DW_POSE_ARM, DW_POSE_LINES } DwPoseLine;

typedef struct {
    DwBundle bundle;
    DwMarkedPaper paper;
    int point_at[DW_POSE_POINTS], line_at[DW_POSE_LINES]; // in the bundle; −1: not touched
    size_t snapped, unsnapped;                            // edges found in the pictures, and not
    bool is_left[DW_POSE_LINES];                          // lines whose edges were different ones in the pictures
    double tip_beside;                                    // its cantilever, where that is too much; else NAN [mm]
    DwBundled *bundled;
} DwPoseTaken;

// Reads the photographs of REQUEST and adjusts them with what its inputs say was touched. What cannot serve is
// DW_BAD_INPUT with one line. The caller frees what TAKEN holds with dw_pose_taken_clear(), on failure too.
DwStatus dw_pose_taken_read(const DwRequest *request, DwPoseTaken *taken, DwMessage *message);
void dw_pose_taken_clear(DwPoseTaken *taken);

// Adds to SHEET what TAKEN tells. SETUP is the arm stated, or NULL where it is not; KNOWN_MM the size of the known
// thing, or NAN.
void dw_pose_sheet_fill(const DwPoseTaken *taken, const DwArmSetup *setup, double known_mm, DwSheet *sheet);

#endif
