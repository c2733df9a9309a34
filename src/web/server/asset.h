// SPDX-License-Identifier: MIT
// The style sheets, scripts and drawings of data/web, which a page names.
#ifndef DW_WEB_ASSET_H
#define DW_WEB_ASSET_H

// The address of the file NAME with a word that changes when the file does, so
// that browsers may keep it. A NAME that is not in the table is a bad call.
// Valid for ever.
const char *dw_asset_path(const char *name);

#endif
