// SPDX-License-Identifier: MIT
// In whose words a customer is written to.
#ifndef DW_REPORT_REPORT_WORDS_H
#define DW_REPORT_REPORT_WORDS_H

#include "book/shop/customer.h"
#include "report/paper_words.h"

// The words in which CUSTOMER is written to: their language, else the shop's (setting paper.language), and in it the
// shop's own words before the program's. The caller frees *WORDS with dw_paper_words_free().
DwStatus dw_report_words(DwBook *book, const DwCustomer *customer, const char *data_folder, DwPaperWords **words,
                         DwMessage *message);

#endif
