# Growth of the toe on the demo herd, all horses together with ground held at the herd's mix: lme4 on rates weighted by days squared.
source("tests/reference/demo/common.R")
suppressMessages(library(lme4))
source_rows <- gathered("growth-herd")
d <- source_rows$rows
z <- d$days / 30
ground <- contrasts_of(d$by_terrain)
ground <- sweep(ground, 2, colMeans(ground))
frame <- data.frame(rate = d$amount / z, horse = d$horse_id, foot = d$foot_key, cosine = d$season_cos, sine = d$season_sin, w = z^2)
m <- lmer(rate ~ cosine + sine + ground + (1 | horse) + (1 | foot), frame, weights = w,
  control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-11, maxfun = 1e5), calc.derivs = FALSE))
b <- unname(fixef(m))[1:3]; v <- unname(as.matrix(vcov(m)))[1:3, 1:3]
amplitude <- sqrt(b[2]^2 + b[3]^2)
slope <- c(0, b[2], b[3]) / amplitude
write_result("growth-herd", source_rows, c("lme4"), list(
  beta = b, se = sqrt(diag(v)), amplitude = amplitude, amplitudeSe = sqrt(drop(slope %*% v %*% slope)),
  peakRadians = atan2(b[3], b[2])
))
