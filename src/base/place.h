// SPDX-License-Identifier: MIT
// Where the files lie that come with the program: found from where the program
// itself lies, so that it may be installed anywhere and moved.
#ifndef DW_BASE_PLACE_H
#define DW_BASE_PLACE_H

// The folder of the files a technician may edit: the environment's
// DECKWRIGHT_DATA, else share/deckwright in one of the three folders above the
// program's own, else where the program was set up to be installed.
// Valid as long as the program runs.
const char *dw_data_folder(void);
// The path of NAME, a file as a person names it: as it stands where it is there or has a folder in it, else FOLDER of
// the files above, with or without its ENDING (".plan"), where it is there; else NAME. The caller frees it with free().
char *dw_data_path(const char *folder, const char *name, const char *ending);
// The folder of the translations: the environment's DECKWRIGHT_WORDS, else
// share/locale beside the files above. Valid as long as the program runs.
const char *dw_locale_folder(void);
// The path of the program NAME that comes with this one and lies beside it.
// The caller frees it with free().
char *dw_place_beside(const char *name);

#endif
