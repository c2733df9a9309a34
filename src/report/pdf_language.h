// SPDX-License-Identifier: MIT
// The language of a PDF, so that a screen reader speaks it as it is written.
// Cairo has no call for it; it is added as the incremental update that the
// format provides for.
#ifndef DW_REPORT_PDF_LANGUAGE_H
#define DW_REPORT_PDF_LANGUAGE_H

#include "chart/draw/output.h"

// Given: a whole PDF with a plain cross-reference table, and a language tag such as "en-GB".
// Returned: the PDF with a new catalog that names the language; unchanged where
// it has another form or the tag holds anything but letters, figures and hyphens.
// Reference: ISO 32000-1:2008, 7.5.6 (incremental updates), 14.9.2 (/Lang); from memory.
void dw_pdf_language_set(DwOutput *pdf, const char *language);

// What a PDF is told of itself besides.
typedef struct {
    const char *title, *author, *language;
    const char *const *alts; // the words of its pictures, in their order
    size_t alt_count;
} DwPdfWords;

// Given: a whole PDF as above whose pictures are marked as figures.
// Returned: the PDF with the words of each, its title shown in place of its file's name, and the same facts as metadata
// (XMP); unchanged where it has another form.
// Reference: ISO 32000-1:2008, 14.9.3 (/Alt), 12.2 (/DisplayDocTitle), 14.3.2 (/Metadata); from memory.
void dw_pdf_describe(DwOutput *pdf, const DwPdfWords *words);

// A file that goes within a PDF, saying the same as its pages do for a program to read.
typedef struct {
    const char *name; // "invoice-2026-0003.xml": letters, figures, hyphens and dots
    const char *day;  // of it, "2026-11-25"
    const char *text; // XML
} DwPdfFile;

// Given: a whole PDF as above.
// Returned: the PDF with FILE attached, as the other form of the whole document; unchanged where it has another form,
// or attachments or names already. Reference: ISO 32000-1:2008, 7.11.4 (embedded file streams), 7.7.4 (/Names); ISO
// 19005-3:2012, 6.8 and annex E
// (/AFRelationship); from memory.
void dw_pdf_attach(DwOutput *pdf, const DwPdfFile *file);

#endif
