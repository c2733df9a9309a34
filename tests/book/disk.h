// SPDX-License-Identifier: MIT
// A disk of which every act is counted, on which a program can be made to end at the
// Nth of them, and which knows what of it a loss of power would leave.
//
// The acts are the system's own calls, which the program that is linked with this has
// replaced for itself and for the libraries it uses (SQLite): writing, forcing, cutting,
// renaming, removing, making a folder. What a loss of power leaves is the least that POSIX
// promises (fsync(2), its notes): of a file what it held when it was last forced, else
// nothing; of a folder the names it had when it was last forced.
#ifndef DW_TESTS_BOOK_DISK_H
#define DW_TESTS_BOOK_DISK_H

// Begins to count the acts on FOLDER, whose parent keeps the copies of what was forced. The program
// ends by SIGKILL before act number LAST, or in the middle of it when it is a write (0: never).
void disk_begin(const char *folder, long last);
// Counts from here, ending before act LAST; what was forced so far stays known.
void disk_begin_again(long last);
// The acts so far.
long disk_acts(void);
// What a loss of power would have left of FOLDER by the copies of an earlier disk_begin() there,
// written as the new folder TARGET.
void disk_lose_power(const char *folder, const char *target);

#endif
