using Contracts.Disclosures;
using Contracts.Explain;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Store;
using Contracts.Store.Papers;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>A figure: the events that make it where it is a total, and the tree of rules that makes it.</summary>
/// <param name="Contract">The contract.</param>
/// <param name="On">The day.</param>
/// <param name="Known">What is known.</param>
/// <param name="Query">The two dates as the address has them.</param>
/// <param name="Tree">How the rules make it.</param>
/// <param name="Total">The events that make it, where it is a total.</param>
/// <param name="Others">Every other figure there is to ask about.</param>
/// <param name="Paper">The issued paper whose figure it is, or null for one of the account.</param>
public sealed record WhyModel(
    string Contract, LocalDate On, Instant Known, string Query, ExplainNode Tree, TracedTotal? Total, IReadOnlyList<string> Others, IssuedPaper? Paper = null);

/// <summary>Two views as they were asked for, and what made them differ.</summary>
public sealed record CompareModel(
    string Contract, ComparedView From, ComparedView To, (string Known, string WithKnown) Asked, string Query,
    IReadOnlyList<FigureDifference> Figures, IReadOnlyList<WordDifference> Words);

/// <summary>A figure of a report, the contracts that add most to it, and every other figure there is to ask about.</summary>
public sealed record ReportWhyModel(string Report, LocalDate On, string Query, ExplainNode Tree, IReadOnlyList<string> Others);

/// <summary>The pages that give reasons: why a figure is what it is, and why two views differ.</summary>
internal static class ReasonPages
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/account/{contract}/why/{*figure}", WhyAsync);
        routes.MapPage("/account/{contract}/compare", CompareAsync);
        routes.MapPage("/reports/{report}/why/{*figure}", ReportAsync);
    }

    private static async Task<IResult> WhyAsync(
        HttpContext context, ContractsStore store, string contract, string figure, string? on, string? known, string? paper, CancellationToken stop)
    {
        var name = figure.Replace("%2F", "/", StringComparison.OrdinalIgnoreCase);
        if (!string.IsNullOrEmpty(paper)) { return await PaperAsync(context, store, contract, name, paper, stop); }
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        if (await ComparedViews.ReadAsync(store, contract, question.On, question.Known, stop) is not { } view
            || Explanation.At(view.History, view.Rates, view.On) is not { } explanation || AccountFold.At(view.History, view.Rates, view.On) is not { } state)
        {
            return PageHost.Refused(context, AccountEndpoints.Unknown(contract));
        }

        return explanation.Of(name) is { } tree
            ? PageHost.Of<WhyPage>(context, new WhyModel(
                contract, question.On, question.Known.At, context.Request.QueryString.Value ?? "", tree,
                TracedTotal.Of(state).FirstOrDefault(total => total.Figure == name), explanation.Figures))
            : PageHost.Refused(context, explanation.Unknown(name));
    }

    private static async Task<IResult> ReportAsync(
        HttpContext context, ContractsStore store, string report, string figure, string? on, string? known, string? most, CancellationToken stop)
    {
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        (var tree, refusal) = await ReportReasons.FindAsync(store, report, figure, question.On, question.Known, ReportReasons.Most(most), stop);
        return refusal is null
            ? PageHost.Of<ReportWhyPage>(context, new ReportWhyModel(report, question.On, context.Request.QueryString.Value ?? "", tree!, ReportReasons.FiguresOf(report)))
            : PageHost.Refused(context, refusal);
    }

    private static async Task<IResult> PaperAsync(HttpContext context, ContractsStore store, string contract, string name, string paper, CancellationToken stop)
    {
        if (!PageHost.ShowsHouseholds(context))
        {
            return PageHost.Refused(context, new NoPage("forbidden", "Papers are not for this role.", null, StatusCodes.Status403Forbidden));
        }

        var (tree, explanation, refusal) = await ExplainedFigure.OnPaperAsync(store, contract, paper, name, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        var issued = (await store.Papers.MakeAgainAsync(paper, stop))!.Issued;
        return PageHost.Of<WhyPage>(context, new WhyModel(
            contract, issued.Event.On, issued.Event.Known, context.Request.QueryString.Value ?? "", tree!, null, explanation!.Figures, issued));
    }

    private static async Task<IResult> CompareAsync(
        HttpContext context, ContractsStore store, string contract, string? on, string? known, string? withOn, string? withKnown, CancellationToken stop)
    {
        var (from, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        (var to, refusal) = await Question.ReadAsync(store, withOn, withKnown, stop, "withOn", "withKnown");
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        return await ComparedViews.CompareAsync(store, contract, (from.On, from.Known), (to.On, to.Known), stop) is { } found
            ? PageHost.Of<ComparePage>(context, new CompareModel(
                contract, found.From, found.To, (known ?? "", withKnown ?? ""), context.Request.QueryString.Value ?? "", found.Figures, found.Words))
            : PageHost.Refused(context, AccountEndpoints.Unknown(contract));
    }
}
