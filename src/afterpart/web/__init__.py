"""The job sheet in the browser, on the maker's own machine: routes and views over the pipeline, nothing computed here."""
# SPDX-License-Identifier: Apache-2.0
