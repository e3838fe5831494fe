using System.Text;
using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Host.Serving.Api;
using Contracts.Host.Serving.SignIn;
using Contracts.Replays;
using Contracts.Store;
using Contracts.Store.Papers;
using Contracts.Terms;
using NodaTime;

namespace Contracts.Host.Serving.Pages;

/// <summary>Equity and what is left to own at the end of a day.</summary>
public readonly record struct CurvePoint(LocalDate On, Money Equity, Money Left);

/// <summary>Something that happened on a day of a curve.</summary>
public readonly record struct CurveMark(LocalDate On, string What);

/// <summary>Everything the page of one account shows; household and papers are null for whom they are not.</summary>
public sealed record AccountModel(
    Account Account, string? Household, bool IsNow, bool IsPastKnown, string KnownText, IReadOnlyList<HistoryLine> Lines, LocalDate? Earlier, LocalDate? Later,
    IReadOnlyList<CurvePoint> Curve, IReadOnlyList<CurveMark> Marks, IReadOnlyList<Changed> Changes, IReadOnlyList<HistoryLine> Learned, IReadOnlyList<IssuedPaper>? Papers,
    string? LawPack, IReadOnlyList<Deed> Deeds, string? Kind, IReadOnlyList<(string Kind, int Count)> Kinds, IReadOnlyList<DueBack> DueBack);

/// <summary>One event and the account right after it was recorded.</summary>
public sealed record ReplayStep(HistoryLine Line, string Json, IReadOnlyList<Changed> Changes);

/// <summary>A contract lived event by event.</summary>
public sealed record ReplayModel(string Contract, IReadOnlyList<ReplayStep> Steps)
{
    /// <summary>The condition as it was asked; empty for none.</summary>
    public string Until { get; init; } = "";

    /// <summary>The place of the first event after which it holds, from 1; null where it holds after none or nothing was asked.</summary>
    public int? Holds { get; init; }

    /// <summary>What is wrong with the condition.</summary>
    public string? Fault { get; init; }
}

/// <summary>The pages of one account.</summary>
internal static class AccountPages
{
    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPage("/account/{contract}", AccountAsync);
        routes.MapPage("/account/{contract}/replay", ReplayAsync);
    }

    private static async Task<IResult> AccountAsync(HttpContext context, ContractsStore store, string contract, string? on, string? known, string? kind, CancellationToken stop)
    {
        if (EventKinds.Unfit(kind) is { } unfit) { return PageHost.Refused(context, unfit); }
        var (question, refusal) = await Question.ReadAsync(store, on, known, stop);
        if (refusal is not null) { return PageHost.Refused(context, refusal); }
        var now = await store.Reader.NowAsync(stop);
        var rates = await store.Reader.RatesAsync(question.Known, stop);
        var history = await store.Reader.HistoryAsync(contract, question.Known, stop);
        if (history is null || AccountFold.At(history, rates, question.On) is not { } state) { return PageHost.Refused(context, AccountEndpoints.Unknown(contract)); }
        var account = Account.Of(state, question.Known.At);
        var lines = HistoryLine.Of(history, rates);
        var days = history.Facts.Select(fact => fact.Event.On).Distinct().Order().ToList();
        var isPast = !string.IsNullOrEmpty(known);
        IReadOnlyList<Changed> changes = [];
        IReadOnlyList<HistoryLine> learned = [];
        if (isPast)
        {
            var best = (await store.Reader.HistoryAsync(contract, now, stop))!;
            var ratesNow = await store.Reader.RatesAsync(now, stop);
            if (AccountFold.At(best, ratesNow, question.On) is { } bestState) { changes = Figures.Differ(account, Account.Of(bestState, now)); }
            var seen = history.Entries.Select(entry => entry.Sequence).ToHashSet();
            learned = [.. HistoryLine.Of(best, ratesNow).Where(line => !seen.Contains(line.Entry.Sequence) && line.Entry.Event.On <= question.On)];
        }

        return PageHost.Of<AccountPage>(context, new AccountModel(
            account, PageHost.ShowsHouseholds(context) ? history.Signing.Household : null, string.IsNullOrEmpty(on) && !isPast, isPast, known ?? "", EventKinds.Choose(lines, kind),
            days.LastOrDefault(day => day < question.On) is var earlier && earlier != default ? earlier : null,
            days.FirstOrDefault(day => day > question.On) is var later && later != default ? later : null,
            Curve(history, rates, question.On), Marks(lines), changes, learned,
            PageHost.ShowsHouseholds(context) ? [.. PaperArchive.Of(history)] : null, state.Law?.Reference.ToString(),
            [.. Deeds.All.Where(deed => deed.Roles.Contains(context.User.Role()) && (deed.Name != "deliver" || history.Signing.StartsAtDelivery)
                && (deed.Name != "spend-credit" || account.MerchandiseCredit.IsPositive))],
            string.IsNullOrEmpty(kind) ? null : kind,
            [.. EventKinds.All.Select(one => (one, EventKinds.Choose(lines, one).Count)).Where(one => one.Count > 0)], DueBack.Of(state)));
    }

    private static async Task<IResult> ReplayAsync(HttpContext context, ContractsStore store, string contract, string? until, CancellationToken stop)
    {
        var now = await store.Reader.NowAsync(stop);
        var history = await store.Reader.HistoryAsync(contract, now, stop);
        if (history is not { IsSigned: true }) { return PageHost.Refused(context, AccountEndpoints.NotSigned(contract)); }
        var rates = await store.Reader.RatesAsync(now, stop);
        var steps = new List<ReplayStep>();
        Account? before = null;
        var lived = ContractHistory.Unsigned(contract);
        foreach (var line in HistoryLine.Of(history, rates))
        {
            lived = lived.Evolve(line.Entry);
            var day = lived.Facts.Max(fact => fact.Event.On);
            var after = AccountFold.At(lived, rates, day) is { } state ? Account.Of(state, line.Entry.At) : null;
            var stored = Encoding.UTF8.GetString(StoredEvents.Data(line.Entry.Event, PageHost.ShowsHouseholds(context)));
            steps.Add(new ReplayStep(line, stored, after is null ? [] : Figures.Differ(before, after)));
            before = after ?? before;
        }

        var model = new ReplayModel(contract, steps);
        if (string.IsNullOrWhiteSpace(until)) { return PageHost.Of<ReplayPage>(context, model); }
        var (condition, fault) = Condition.Parse(until);
        model = model with { Until = until, Fault = fault is null ? null : $"Column {fault.Column}: {fault.Detail}" };
        if (condition is not null)
        {
            var reference = await store.Reader.ReferenceAsync(now, stop);
            var found = EventWalk.Of(history, reference, today: null).Index().FirstOrDefault(step => condition.Holds(step.Item));
            model = model with { Holds = found.Item is null ? null : found.Index + 1 };
        }

        return PageHost.Of<ReplayPage>(context, model, fault is null ? StatusCodes.Status200OK : StatusCodes.Status400BadRequest);
    }

    /// <summary>What else happened than money that came in as it should, and what later knowledge has not overtaken.</summary>
    private static IReadOnlyList<CurveMark> Marks(IReadOnlyList<HistoryLine> lines) =>
    [
        .. lines.Where(line => !line.Entry.Event.IsNote && !line.Overtaken && line.Entry.Event is not (ContractEvent.Signed or ContractEvent.PaymentReceived))
            .OrderBy(line => line.Entry.Event.On).ThenBy(line => line.Entry.Sequence).Select(line => new CurveMark(line.Entry.Event.On, line.What)),
    ];

    /// <summary>The two lines of the chart: each day on which something happened or fell due, through the day asked about.</summary>
    private static List<CurvePoint> Curve(ContractHistory history, ReferenceData rates, LocalDate through)
    {
        const int most = 120;
        var days = history.Entries.Select(entry => entry.Event.On).Append(through).Where(day => day <= through).Distinct().Order().ToList();
        var step = Math.Max(1, days.Count / most);
        var points = new List<CurvePoint>();
        foreach (var (index, day) in days.Index())
        {
            if (index % step != 0 && index != days.Count - 1) { continue; }
            if (AccountFold.At(history, rates, day) is not { } state) { continue; }
            var account = Account.Of(state, default);
            points.Add(new CurvePoint(day, account.Equity, account.RemainingToOwn));
        }

        return points;
    }
}
