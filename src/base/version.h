/* version.h - which version of the program this is: written into recordings and visits, told by --version. */
#ifndef BASE_VERSION_H
#define BASE_VERSION_H

#define VERSION_TEXT "0.1.0"

#endif
