# Growth of the toe on the demo herd, by breed type with ground held at the herd's mix: lme4 on rates weighted by
# days squared, which is the same model as amounts through the origin. The rows are also gathered afresh from the CSV
# file by the plainest rules, apart from the program's intake and SQL, and compared.
source("tests/reference/demo/common.R")
suppressMessages(library(lme4))
source_rows <- gathered("growth")
d <- source_rows$rows

visits <- read.csv("data/demo-visits.csv", colClasses = "character")
# Notes run over several lines, so a record's first line is counted from those before it. The 15 records that the
# herd's maker spoilt on purpose are listed by line.
rows_of <- 1 + nchar(gsub("[^\n]", "", visits$notes))
visits$line <- 2 + c(0, cumsum(rows_of)[-nrow(visits)])
v <- visits[!visits$line %in% fromJSON("data/truth.json")$badRows$line, ]
v$date <- as.Date(v$visit_date, format = "%Y-%m-%d")
for (column in c("toe_before_mm", "toe_after_mm")) v[[column]] <- as.numeric(v[[column]])
v <- v[order(v$horse_id, v$foot, v$date), ]
n <- nrow(v)
a <- v[-n, ]; b <- v[-1, ]
days <- as.integer(b$date - a$date)
amount <- b$toe_before_mm - a$toe_after_mm
# A foot that is missing at a visit between, where at least three in four of the horse's visits hold all its feet.
on <- aggregate(foot ~ horse_id + visit_date, v, function(f) length(unique(f)))
ever <- tapply(v$foot, v$horse_id, function(f) length(unique(f)))
whole <- tapply(on$foot == ever[on$horse_id], on$horse_id, mean) >= 0.75
on$date <- as.Date(on$visit_date, format = "%Y-%m-%d")
dates <- split(on$date, on$horse_id)
between <- mapply(function(h, first, last) any(dates[[h]] > first & dates[[h]] < last), a$horse_id, a$date, b$date)
passed_over <- between & whole[a$horse_id]
keep <- !passed_over & a$horse_id == b$horse_id & a$foot == b$foot & days >= 7 & days <= 365 & !is.na(amount) & amount >= -5
afresh <- data.frame(key = paste(a$horse_id, a$foot), first = as.numeric(a$date), last = as.numeric(b$date), days, amount)[keep, ]
w <- 2 * pi / year
# The program gives no dates here; both sides are in order of foot and date (the program's has cycles without ground left out).
known <- (ifelse(b$terrain != "", b$terrain, a$terrain) != "")[keep]
afresh <- afresh[known, ]
order_of <- function(key) order(key, seq_along(key), method = "radix")
mine <- afresh[order_of(afresh$key), ]; theirs <- d[order_of(d$foot_key), ]
alike <- nrow(mine) == nrow(theirs) && all(mine$key == theirs$foot_key) && all(mine$days == theirs$days)
apart <- if (!alike) NA else max(abs(mine$amount - theirs$amount),
  abs((sin(w * mine$last) - sin(w * mine$first)) / (w * mine$days) - theirs$season_cos),
  abs((cos(w * mine$first) - cos(w * mine$last)) / (w * mine$days) - theirs$season_sin))

z <- d$days / 30
levels <- sort(unique(d$by_breed_type), method = "radix")
group <- sapply(levels, function(l) as.numeric(d$by_breed_type == l))
ground <- contrasts_of(d$by_terrain)
ground <- sweep(ground, 2, colMeans(ground))
X <- cbind(group, ground, d$season_cos, d$season_sin)
colnames(X) <- c(levels, colnames(ground), "cosine", "sine")
frame <- data.frame(rate = d$amount / z, horse = d$horse_id, foot = d$foot_key, w = z^2)
m <- lmer(rate ~ 0 + X + (1 | horse) + (1 | foot), frame, weights = w,
  control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-11, maxfun = 1e5), calc.derivs = FALSE))
variances <- as.data.frame(VarCorr(m))
variance <- function(g) variances$vcov[variances$grp == g]
own <- ranef(m)$horse
write_result("growth", source_rows, c("lme4"), list(
  terms = colnames(X), beta = unname(fixef(m)), se = unname(sqrt(diag(as.matrix(vcov(m))))), covariance = unname(as.matrix(vcov(m))),
  variances = list(horse = variance("horse"), foot = variance("foot"), residual = sigma(m)^2),
  criterion = unname(REMLcrit(m)) + sum(log(z^2)),
  horses = rownames(own), horseEffects = own[[1]],
  afresh = list(rows = nrow(mine), alike = alike, apart = apart)
))
