# Risk difference and ratio pooled over two strata: deaths under tolbutamide and placebo by age, University Group Diabetes
# Program 1970, as tabled in textbooks (counts from memory: under 55 years 8 of 106 and 5 of 120, from 55 on 22 of 98 and 16
# of 85). By the formulas in base R (Sato 1989, Greenland & Robins 1985) and by metafor::rma.mh.
# Run: Rscript tests/reference/risk-strata.R > tests/reference/risk-strata.json
suppressMessages({library(metafor); library(jsonlite)})
a <- c(8, 22); n1 <- c(106, 98); c <- c(5, 16); n0 <- c(120, 85); t <- n1 + n0
w <- n1 * n0 / t
rd <- sum(a * n0 / t - c * n1 / t) / sum(w)
p <- (n1^2 * c - n0^2 * a + n1 * n0 * (n0 - n1) / 2) / t^2
q <- (a * (n0 - c) + c * (n1 - a)) / (2 * t)
seRd <- sqrt((rd * sum(p) + sum(q)) / sum(w)^2)
num <- sum(a * n0 / t); den <- sum(c * n1 / t)
seLogRr <- sqrt(sum((n1 * n0 * (a + c) - a * c * t) / t^2) / (num * den))
m <- function(measure) { r <- rma.mh(measure = measure, ai = a, n1i = n1, ci = c, n2i = n0, add = 0, to = "none", drop00 = FALSE); base::c(r$beta, r$se) }
cat(toJSON(list(
  R = R.version.string, metafor = as.character(packageVersion("metafor")),
  exposedEvents = a, exposedRows = n1, unexposedEvents = c, unexposedRows = n0,
  formula = list(RD = base::c(rd, seRd), logRR = base::c(log(num / den), seLogRr)),
  metafor_values = list(RD = m("RD"), logRR = m("RR"))
), digits = NA, auto_unbox = TRUE), "\n")
