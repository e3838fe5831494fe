using System.CommandLine;
using Contracts.Agreements;
using Contracts.Host.Terminal;
using Contracts.Papers;
using Contracts.Store;
using Contracts.Store.Papers;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Papers;

/// <summary>`contracts issue`: gives out a paper and records that it was; the bytes come from what was recorded.</summary>
public static class IssueCommand
{
    public static System.CommandLine.Command Build()
    {
        var contract = new Argument<string>("contract") { Description = "The contract's id, such as C-1042." };
        var kind = new Option<string>("--kind") { Description = $"The paper: {string.Join(", ", PaperKinds.Words)}.", Required = true };
        kind.CompletionSources.Add(PaperKinds.Words);
        kind.Validators.Add(result =>
        {
            if (PaperKinds.Read(result.GetValueOrDefault<string>() ?? "") is null) { result.AddError($"--kind is one of {string.Join(", ", PaperKinds.Words)}."); }
        });
        var subject = new Option<string?>("--for") { Description = "The key of the payment, exchange, return or signing that the paper is about." };
        var on = CommonOptions.On();
        on.Description = "The day the paper shows; today when left out. A paper on a payment, exchange, return or signing shows that day.";
        var (key, by) = (new Option<string?>("--key") { Description = "The paper's id; else one is made up." }, new Option<string?>("--by") { Description = "Who issues it." });
        var (output, pdf) = (PaperOutput.Out(), PaperOutput.Pdf());
        var command = new System.CommandLine.Command("issue", "Issue a paper on a contract and record it; HTML, and as PDF where a Chromium is found.")
        {
            contract, kind, subject, on, output, pdf, key, by,
        };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var target = new PaperOutput(parse.GetValue(output), parse.GetValue(pdf));
                var asked = new ContractCommand.Issue(PaperKinds.Read(parse.GetRequiredValue(kind))!.Value, parse.GetValue(subject));
                var id = parse.GetRequiredValue(contract);
                var (now, fact, day) = await DayAsync(session, id, asked, parse.GetValue(on), stop).ConfigureAwait(false);
                if (fact is not null) { asked = asked with { For = fact }; }
                var paper = parse.GetValue(key) ?? IdOf(id, asked, day, now);
                var issue = new Agreements.Command.OnContract(id, day, asked) { Origin = new CommandOrigin(paper, parse.GetValue(by), null) };
                return await session.Store.Pipeline.IssueAsync(issue, stop).ConfigureAwait(false) is CommandResult.Refused refused
                    ? session.Refuse(refused.Refusal)
                    : await TellAsync(session, issue, target, stop).ConfigureAwait(false);
            },
            stop));
        return command;
    }

    private static async Task<(Instant Now, string? Fact, LocalDate Day)> DayAsync(
        Session session, string contract, ContractCommand.Issue asked, LocalDate? on, CancellationToken stop)
    {
        var (today, now) = await session.ViewAsync(null, null, stop).ConfigureAwait(false);
        var history = await session.Store.Reader.HistoryAsync(contract, now, stop).ConfigureAwait(false);
        var fact = history is null ? null : PaperMaker.FactOf(history, asked.Kind, asked.For).Fact;
        return (now, fact?.Key, on ?? fact?.Event.On ?? today);
    }

    /// <summary>One paper on one fact is issued once; of an account there is one for each asking.</summary>
    private static string IdOf(string contract, ContractCommand.Issue asked, LocalDate day, Instant now) => asked.Kind.NeedsFact()
        ? $"{asked.Kind.Word()}:{asked.For}"
        : $"{asked.Kind.Word()}:{contract}:{LocalDatePattern.Iso.Format(day)}:{InstantPattern.ExtendedIso.Format(now)}";

    private static async Task<int> TellAsync(Session session, Agreements.Command.OnContract issue, PaperOutput target, CancellationToken stop)
    {
        var again = await session.Store.Papers.MakeAgainAsync(issue.Origin.Key, stop).ConfigureAwait(false);
        var asked = (ContractCommand.Issue)issue.Body;
        if (again is null || again.Issued.Contract != issue.Contract || again.Issued.Event.Kind != asked.Kind.Word() || again.Issued.Event.For != asked.For)
        {
            return session.Refuse(new Refusal(RefusalCode.PaperUnknown, $"The key '{issue.Origin.Key}' belongs to another command, so nothing was issued.", "key"));
        }

        if (again.Differs.Count > 0) { return session.Refuse(ReissueCommand.Differs(again)); }
        await target.WriteAsync(again, stop).ConfigureAwait(false);
        if (target.TakesStandardOutput) { await Console.Error.WriteLineAsync($"issued as {again.Issued.Id}, SHA-256 {again.Issued.Event.Digest}").ConfigureAwait(false); }
        else { PapersCommand.Print([again.Issued], session.Format, asList: false); }
        return ExitCodes.Done;
    }
}
