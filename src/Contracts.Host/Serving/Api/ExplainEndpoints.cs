using System.ComponentModel;
using Contracts.Explain;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.SignIn;
using Contracts.Store;

namespace Contracts.Host.Serving.Api;

/// <summary>Why a figure is what it is, and why two views differ.</summary>
internal static class ExplainEndpoints
{
    public static async Task<IResult> ExplainAsync(
        HttpContext context, ContractsStore store, [Description(Words.Contract)] string contract,
        [Description("A figure of the account by its path, such as equity, earlyPurchase.payoff or openItems.installment:2026-10-05.")] string figure,
        [Description(Words.On)] string? on, [Description(Words.Known)] string? known,
        [Description("An issued paper, of which the figure is then one; without on and known.")] string? paper, CancellationToken stop)
    {
        // A key in the name of an open item may have a stroke, which a path carries as %2F.
        var name = figure.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);
        if (!string.IsNullOrEmpty(paper))
        {
            if (!string.IsNullOrEmpty(on) || !string.IsNullOrEmpty(known)) { return Answers.Refused(ExplainedFigure.ItsOwnView); }
            if (!Doors.Papers.Roles.Contains(context.User.Role()))
            {
                return DoorKeeper.Forbidden(context, Doors.Papers.Roles, $"The role {context.User.Role()} may not see papers.");
            }

            var (drawn, _, why) = await ExplainedFigure.OnPaperAsync(store, contract, paper, name, stop);
            return why is null ? Answers.Json(ExplainCommand.Json(drawn!)) : Answers.Refused(why);
        }

        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        if (await ComparedViews.ReadAsync(store, contract, question.On, question.Known, stop) is not { } view
            || Explanation.At(view.History, view.Rates, view.On) is not { } explanation)
        {
            return Answers.Refused(AccountEndpoints.Unknown(contract));
        }

        return explanation.Of(name) is { } tree ? Answers.Json(ExplainCommand.Json(tree)) : Answers.Refused(explanation.Unknown(name));
    }

    public static async Task<IResult> ReportAsync(
        ContractsStore store, [Description("portfolio, or books for the trial balance.")] string report,
        [Description("A total of the portfolio, such as pastDue; or the number of an account of the chart, such as 4010.")] string figure,
        [Description(Words.On)] string? on, [Description(Words.Known)] string? known,
        [Description("So many contracts are taken apart, the largest first, at most 500; 20 when left out.")] string? most, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        (var tree, refusal) = await ReportReasons.FindAsync(store, report, figure, question.On, question.Known, ReportReasons.Most(most), stop);
        return refusal is null ? Answers.Json(ExplainCommand.Json(tree!)) : Answers.Refused(refusal);
    }

    public static async Task<IResult> CompareAsync(
        ContractsStore store, [Description(Words.Contract)] string contract, [Description(Words.On)] string? on, [Description(Words.Known)] string? known,
        [Description("The day of the second view; today when left out.")] string? withOn,
        [Description("The knowledge of the second view, as the first view's; now when left out.")] string? withKnown, CancellationToken stop)
    {
        var (from, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return Answers.Refused(refusal); }
        (var to, refusal) = await Question.ReadAsync(store, withOn, withKnown, stop, "withOn", "withKnown");
        if (refusal is not null) { return Answers.Refused(refusal); }
        return await ComparedViews.CompareAsync(store, contract, (from.On, from.Known), (to.On, to.Known), stop) is { } comparison
            ? Answers.Json(CompareCommand.Json(comparison))
            : Answers.Refused(AccountEndpoints.Unknown(contract));
    }
}
