//! `greyhen check`: the rules on what is there.

use crate::fail::Fail;
use crate::{Draws, Ended, PlanFile, talk};
use measures::{Finding, Severity};

/// Arguments.
#[derive(clap::Args)]
#[command(after_help = "Ends with code 1 while a finding of weight `must` stands. On screen places are told exactly: it is the adviser's
own desk. The JSON, which travels, gives lek places to the kilometre unless --show-leks says otherwise.")]
pub struct Check {
    #[command(flatten)]
    plan: PlanFile,
    #[command(flatten)]
    draws: Draws,
    /// Give lek places exactly in the JSON; otherwise what lies at a lek is told by its kilometre square
    #[arg(long)]
    show_leks: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

impl Check {
    /// Run it.
    pub fn run(self) -> Result<Ended, Fail> {
        let working = talk::Working::on("reading the plan");
        let super::Examined { holding, guidance, findings, .. } = super::examine(&self.plan.path, &self.draws, &working)?;
        drop(working);
        if self.json {
            talk::print_json(&measures::json::to_json(&findings, &guidance, &holding, self.show_leks));
        } else {
            talk::print(&text(&findings));
        }
        let must = findings.iter().any(|f| f.severity == Severity::Must);
        Ok(if must { Ended::WithMust } else { Ended::Well })
    }
}

fn text(findings: &[Finding]) -> String {
    if findings.is_empty() {
        return "No rule finds anything wrong.".to_string();
    }
    let mut out = Vec::new();
    for f in findings {
        let weight = match f.severity {
            Severity::Must => "MUST",
            Severity::Should => "SHOULD",
            Severity::Consider => "CONSIDER",
        };
        out.push(talk::wrapped(&format!("{weight}: {} [{}]", f.what, f.rule), 96, ""));
        out.push(talk::wrapped(&format!("where: {}", f.place), 92, "    "));
        out.push(talk::wrapped(&format!("here {}; needed {}", f.value, f.needed), 92, "    "));
        out.push(talk::wrapped(&format!("why: {}", f.why), 92, "    "));
        out.push(talk::wrapped(&format!("do: {}", f.hint), 92, "    "));
        out.push(String::new());
    }
    let count = |s: Severity| findings.iter().filter(|f| f.severity == s).count();
    out.push(format!("{} must, {} should, {} consider. Each rule: greyhen explain RULE.", count(Severity::Must), count(Severity::Should), count(Severity::Consider)));
    out.join("\n")
}
