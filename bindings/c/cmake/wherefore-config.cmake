# find_package(wherefore) gives the target wherefore::wherefore.
get_filename_component(WHEREFORE_PREFIX "${CMAKE_CURRENT_LIST_DIR}/../../.." ABSOLUTE)
if(NOT TARGET wherefore::wherefore)
  add_library(wherefore::wherefore SHARED IMPORTED)
  set_target_properties(wherefore::wherefore PROPERTIES
    IMPORTED_LOCATION "${WHEREFORE_PREFIX}/lib/libwherefore_c.so"
    IMPORTED_NO_SONAME TRUE
    INTERFACE_INCLUDE_DIRECTORIES "${WHEREFORE_PREFIX}/include")
endif()
