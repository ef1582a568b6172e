# Shared by the scripts of this folder: the rows as the program gathered them, and how results are written.
# Run each from the repository's root: Rscript tests/reference/demo/growth.R   (writes growth.json beside it)
suppressMessages({
  library(jsonlite)
  library(digest)
})
folder <- "tests/reference/demo"
year <- 365.25

gathered <- function(name) {
  path <- file.path(folder, paste0(name, ".csv.gz"))
  connection <- gzfile(path, "rb")
  raw <- readBin(connection, "raw", 1e8)
  close(connection)
  rows <- read.csv(text = rawToChar(raw), na.strings = "", stringsAsFactors = FALSE)
  list(rows = rows, sha256 = digest(raw, algo = "sha256", serialize = FALSE))
}
versions <- function(...) {
  c(list(R = R.version.string), sapply(c(...), function(p) as.character(packageVersion(p)), simplify = FALSE))
}
write_result <- function(name, source, packages, values) {
  out <- c(list(script = file.path(folder, paste0(name, ".R")), versions = versions(packages), rowsSha256 = source$sha256), values)
  writeLines(toJSON(out, digits = NA, auto_unbox = TRUE, na = "null"), file.path(folder, paste0(name, ".json")))
}
# Indicator columns for every level but the commonest (the first of them in the alphabet where two tie).
contrasts_of <- function(values) {
  levels <- sort(unique(values), method = "radix")
  count <- sapply(levels, function(l) sum(values == l))
  others <- levels[-which.max(count)]
  matrix(sapply(others, function(l) as.numeric(values == l)), nrow = length(values), dimnames = list(NULL, others))
}
# Clustered covariance: bread (sum of outer products of scores summed by cluster) bread, times G/(G - 1).
sandwich_of <- function(bread, scores, cluster) {
  sums <- rowsum(scores, cluster)
  bread %*% crossprod(sums) %*% bread * nrow(sums) / (nrow(sums) - 1)
}
