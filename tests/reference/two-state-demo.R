# Reference results on the demo herd: separation, by ground, for the interval effect and for onset and clearing.
# Pairs of visits are built here, apart from the program's own SQL, by the plainest rules: a readable date, a known
# foot, a grade of 0 to 3 at both ends, 7 to 365 days, the first of two rows of one foot and day.
# Run: Rscript tests/reference/two-state-demo.R > tests/reference/two-state-demo.json   (from the repository's root)
suppressMessages({
  library(msm)
  library(sandwich)
  library(jsonlite)
})
reference <- 42
year <- 365.25

visits <- read.csv("data/demo-visits.csv", colClasses = "character")
visits$date <- as.Date(visits$visit_date, format = "%Y-%m-%d")
visits$grade <- suppressWarnings(as.integer(visits$separation_grade))
ok <- !is.na(visits$date) & visits$date > as.Date("2000-01-01") & visits$date < as.Date("2030-01-01") &
  visits$foot %in% c("LF", "RF", "LH", "RH") & visits$grade %in% 0:3 &
  visits$terrain %in% c("soft", "mixed", "firm", "rocky") & visits$horse_id != ""
visits <- visits[ok, ]
visits <- visits[!duplicated(visits[c("horse_id", "foot", "visit_date")]), ]
visits <- visits[order(visits$horse_id, visits$foot, visits$date), ]
n <- nrow(visits)
a <- visits[-n, ]
b <- visits[-1, ]
days <- as.integer(b$date - a$date)
same <- a$horse_id == b$horse_id & a$foot == b$foot & days >= 7 & days <= 365
d <- data.frame(
  horse = as.integer(factor(a$horse_id)), start = as.integer(a$grade > 0), end = as.integer(b$grade > 0), days = days,
  ground = match(b$terrain, c("soft", "mixed", "firm", "rocky"))
)[same, ]
x <- cbind(1, d$ground == 2, d$ground == 3, d$ground == 4) + 0

gradient <- function(f, x, h) {
  columns <- lapply(seq_along(x), function(j) {
    slope <- function(h) { e <- replace(numeric(length(x)), j, h); (f(x + e) - f(x - e)) / (2 * h) }
    (64 * slope(h / 4) - 20 * slope(h / 2) + slope(h)) / 45
  })
  do.call(cbind, columns)
}
maximise <- function(rowwise, start) {
  total <- function(x) sum(rowwise(x))
  slope <- function(x) drop(gradient(total, x, 1e-3))
  x <- optim(start, function(x) tryCatch(-total(x), error = function(e) 1e10), method = "BFGS",
    control = list(reltol = 1e-14, maxit = 500))$par
  for (i in 1:3) x <- x - solve(gradient(slope, x, 1e-2), slope(x))
  bread <- solve(-gradient(slope, x, 1e-2))
  scores <- rowsum(gradient(rowwise, x, 1e-3), d$horse)
  g <- nrow(scores)
  robust <- bread %*% crossprod(scores) %*% bread * g / (g - 1)
  list(theta = x, loglik = total(x), se = sqrt(diag(bread)), robust_se = sqrt(diag(robust)))
}

key <- with(d, paste(days, ground))
first <- which(!duplicated(key))
index <- match(key, key[first])
# In time, by an adaptive rule, once for each distinct pair of days and ground.
exact <- function(theta) {
  k <- exp(theta[6])
  rho <- exp(theta[5]) / year
  one <- function(days, level) {
    cumulative <- function(t) level * (t / reference)^k
    p01 <- integrate(
      function(t) level * k * t^(k - 1) / reference^k * exp(-(cumulative(days) - cumulative(t)) - rho * (days - t)),
      0, days, rel.tol = 1e-12, subdivisions = 2000
    )$value
    c(p01, p01 + exp(-cumulative(days) - rho * days))
  }
  p <- mapply(one, d$days[first], exp(drop(x[first, ] %*% theta[1:4])))
  p1 <- p[cbind(d$start + 1, index)]
  log(ifelse(d$end == 1, p1, 1 - p1))
}
markov <- function(theta) {
  a <- exp(drop(x %*% theta[1:4]))
  b <- exp(theta[5])
  moved <- (1 - exp(-(a + b) * d$days / year)) / (a + b)
  p1 <- ifelse(d$start == 0, a * moved, 1 - b * moved)
  log(ifelse(d$end == 1, p1, 1 - p1))
}
exact_fit <- maximise(exact, c(-2.5, 0, 0, 0, 0.5, 0.3))
markov_fit <- maximise(markov, c(-0.5, 0, 0, 0, 0.5))

pairs <- data.frame(
  subject = rep(seq_len(nrow(d)), each = 2), years = c(rbind(0, d$days / year)),
  state = c(rbind(d$start, d$end)) + 1, ground = factor(rep(d$ground, each = 2))
)
m <- msm(
  state ~ years, subject = subject, data = pairs, qmatrix = rbind(c(0, 1), c(1, 0)), center = FALSE,
  covariates = list("1-2" = ~ground), control = list(fnscale = 5000, reltol = 1e-16, maxit = 2000)
)
kept <- c(1, 3, 5, 7, 2)

at_risk <- subset(d, start == 0)
fit <- glm(end ~ factor(ground) + log(days / reference), binomial("cloglog"), at_risk,
  control = list(epsilon = 1e-15, maxit = 100))

cat(toJSON(list(
  script = "tests/reference/two-state-demo.R",
  versions = list(
    R = R.version.string, msm = as.character(packageVersion("msm")), sandwich = as.character(packageVersion("sandwich"))
  ),
  data = as.list(d),
  exact = exact_fit, markov = markov_fit,
  msm = list(estimates = unname(m$estimates[kept]), se = unname(sqrt(diag(m$covmat)))[kept],
    all = unname(m$estimates), minus2loglik = m$minus2loglik),
  cloglog = list(
    coef = unname(coef(fit)), se = unname(sqrt(diag(vcov(fit)))),
    robust_se = unname(sqrt(diag(vcovCL(fit, cluster = at_risk$horse, type = "HC0", cadj = TRUE))))
  )
), digits = NA, auto_unbox = TRUE), "\n")
