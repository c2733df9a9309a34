// SPDX-License-Identifier: MIT
// Where a band plan is found by what a technician calls it.
#ifndef DW_PROCEDURE_PLAN_FILE_H
#define DW_PROCEDURE_PLAN_FILE_H

// The path of the plan called NAME: that file where there is one, else NAME among
// the plans that came with the program, with or without ".plan"; else NAME itself.
// The caller frees it with free().
char *dw_plan_file_path(const char *name);

#endif
