/* The contest with a plain exact cover of tests/unit/assembly_lattice.c on hundreds of dissections. */
#define LATTICE_SEEDS 40
#define LATTICE_SUITE suite_assembly_lattice_many
#define LATTICE_NAME "assembly_lattice_many"
#include "../unit/assembly_lattice.c"
