// SPDX-License-Identifier: MIT
// What stands before a part of a form that carries files: which field it is, and
// what a file is called.
#ifndef DW_WEB_PART_HEAD_H
#define DW_WEB_PART_HEAD_H

#include <stdbool.h>
#include <stddef.h>

// Start it with {0}; dw_part_head_clear() frees what it holds.
typedef struct {
    char *name; // of the field
    char *file; // its name as it was sent, NULL when the part is no file
} DwPartHead;

// Reads the LENGTH bytes of lines at TEXT. False when they name no field.
// Reference: RFC 7578 (2015), 4.2; quotes as the WHATWG HTML Standard writes them
// in "multipart/form-data encoding algorithm" (%22, %0D, %0A) or after a backslash.
bool dw_part_head_read(DwPartHead *head, const char *text, size_t length);
void dw_part_head_clear(DwPartHead *head);

// The boundary that the Content-Type TYPE names, NULL without one that can be.
// Reference: RFC 2046 (1996), 5.1.1: up to 70 characters. The caller frees it with free().
char *dw_part_head_boundary(const char *type);

#endif
