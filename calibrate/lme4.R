# Fits one quantity of a builds file with lme4, for BenchmarkShot to compare with: the same
# rows, effects and criterion. A blank label is a level of its own.
#
# Rscript lme4.R builds.csv prints the rows, the REML criterion, the spreads of maker, core
# batch, shot batch and scatter, and the seconds that lmer took.
#
# Bates, Maechler, Bolker & Walker (2015), J Stat Softw 67(1).
suppressMessages(library(lme4))
d <- data.table::fread(commandArgs(TRUE)[1], colClasses = list(character = 1:7), na.strings = NULL)
own <- function(label) factor(ifelse(label == "", paste0("\u001f", d$build), label))
d$y <- log(d$shot_used_g / d$predicted_shot_g)
d$core <- own(d$core_batch)
d$shot <- own(d$shot_batch)
took <- system.time(
    m <- lmer(y ~ 1 + (1 | maker) + (1 | core) + (1 | shot), d, control = lmerControl(
        check.nobs.vs.nlev = "ignore", check.nobs.vs.nRE = "ignore", calc.derivs = FALSE))
)[["elapsed"]]
s <- as.data.frame(VarCorr(m))
sd <- setNames(s$sdcor, s$grp)
cat(format(c(nrow(d), REMLcrit(m), sd[["maker"]], sd[["core"]], sd[["shot"]], sd[["Residual"]], took), digits = 15), "\n")
