# Clustered shares (survey), Mantel-Haenszel (stats, metafor, and a plain delete-one-cluster loop), least squares
# (stats, sandwich).
# Run: Rscript tests/reference/shares-and-strata.R > tests/reference/shares-and-strata.json
suppressMessages({library(survey); library(metafor); library(sandwich); library(jsonlite)})
set.seed(31)
G <- 25
rows <- do.call(rbind, lapply(1:G, function(g) {
  n <- sample(2:14, 1); u <- rnorm(1)
  group <- if (g %% 4 == 0) rep(1, n) else rbinom(n, 1, 0.4)
  stratum <- sample(0:3, n, TRUE, c(4, 3, 2, 1)); group[stratum == 3] <- 1 # no overlap in the last stratum
  data.frame(cluster = g, stratum = stratum, group = group, y = rbinom(n, 1, plogis(-0.6 + 0.7 * group - 0.3 * stratum + u)))
}))
d <- svydesign(ids = ~cluster, weights = ~1, data = rows)
m <- svymean(~y, d); by <- svyby(~y, ~group, d, svymean, covmat = TRUE)
diff <- svycontrast(by, c(-1, 1))
ratio <- svycontrast(by, quote(log(`1` / `0`)))

mh <- function(r) {
  t <- xtabs(~ group + y + stratum, r)
  a <- t["1", "1", ]; b <- t["1", "0", ]; c <- t["0", "1", ]; e <- t["0", "0", ]
  k <- (a + b > 0) & (c + e > 0); a <- a[k]; b <- b[k]; c <- c[k]; e <- e[k]; n <- a + b + c + e
  c(rd = sum((a * (c + e) - c * (a + b)) / n) / sum((a + b) * (c + e) / n), rr = sum(a * (c + e) / n) / sum(c * (a + b) / n), or = sum(a * e / n) / sum(b * c / n))
}
overlap <- rows[rows$stratum != 3, ]; ids <- unique(overlap$cluster); g <- length(ids)
jack <- sapply(ids, function(i) { v <- mh(rows[rows$cluster != i, ]); c(v["rd"], log(v["rr"]), log(v["or"])) })
jackSe <- sqrt((g - 1) / g * rowSums((jack - rowMeans(jack))^2))
tab <- xtabs(~ group + y + stratum, overlap)
rma <- function(measure, ai, bi, ci, di) { r <- rma.mh(measure = measure, ai = ai, bi = bi, ci = ci, di = di, add = 0, to = "none", drop00 = FALSE); c(r$beta, r$se) }
three <- function(a, b, c, e) list(RD = rma("RD", a, b, c, e), RR = rma("RR", a, b, c, e), OR = rma("OR", a, b, c, e))
U <- UCBAdmissions
data("PetersenCL", package = "sandwich")
pm <- lm(y ~ x, PetersenCL); lg <- lm(Employed ~ ., longley)
test <- mantelhaen.test(U, correct = FALSE)
out <- list(
  R = R.version.string, survey = as.character(packageVersion("survey")), metafor = as.character(packageVersion("metafor")), sandwich = as.character(packageVersion("sandwich")),
  rows = as.list(rows),
  share = c(coef(m), SE(m)), difference = unname(c(coef(diff), SE(diff))), logRatio = unname(c(coef(ratio), SE(ratio))),
  pooled = unname(mh(rows)), pooledJackSe = unname(jackSe), nComparingClusters = g,
  simple = three(tab["1", "1", ], tab["1", "0", ], tab["0", "1", ], tab["0", "0", ]),
  ucb = three(U["Admitted", "Male", ], U["Rejected", "Male", ], U["Admitted", "Female", ], U["Rejected", "Female", ]),
  ucbTest = c(test$estimate, test$conf.int),
  longley = list(x = unname(as.matrix(longley[, 1:6])), y = longley$Employed, beta = unname(coef(lg)), se = unname(sqrt(diag(vcov(lg)))), sd = sigma(lg)),
  petersen = list(x = signif(PetersenCL$x, 9), y = signif(PetersenCL$y, 9), beta = unname(coef(pm)), se = unname(sqrt(diag(vcov(pm)))),
    clustered = unname(sqrt(diag(vcovCL(pm, ~firm)))), clusteredPlain = unname(sqrt(diag(vcovCL(pm, ~firm, type = "HC0")))))
)
cat(toJSON(out, digits = NA, auto_unbox = TRUE, dataframe = "columns"), "\n")
