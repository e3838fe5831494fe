using Contracts.Agreements;
using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Counter;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using NodaTime;
using Spectre.Console;

namespace Contracts.Host.Story;

/// <summary>Tells the invented school year: what an account stood at, what was known when, and what each event did; then the days after it.</summary>
/// <param name="session">The demo's store.</param>
/// <param name="ownDatabase">Whether it is the demo's own database, which other commands have to be pointed at.</param>
public sealed class SchoolYear(Session session, bool ownDatabase)
{
    public const string Family = "C-1042";
    private static readonly LocalDate Today = new(2027, 6, 15);

    private readonly List<ContractHistory> histories = [];

    public async Task TellAsync(LoadSummary summary, CancellationToken stop)
    {
        await foreach (var history in session.Store.Reader.HistoriesAsync(Instant.MaxValue, stop).ConfigureAwait(false))
        {
            histories.Add(history);
        }

        Say("An invented year at an invented shop, Fernhollow Band & Strings of Alder Ferry.");
        Say($"{summary.Applied + summary.Already} commands for {histories.Count} families, of which {LateRecorded()} facts were recorded after their day.");
        Say("Each chapter begins with the command that shows the same" + (ownDatabase ? ", once commands look at the demo's database:" : "."));
        if (ownDatabase) { AnsiConsole.MarkupLine("[dim]$ export CONTRACTS_DATABASE=\"$(contracts database --demo)\"[/]"); }

        var now = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
        var rates = await session.Store.Reader.RatesAsync(now, stop).ConfigureAwait(false);
        Account Of(ContractHistory history, LocalDate on, Instant? known = null) => Account.Of(
            AccountFold.At(history.AsKnownAt(known ?? now), rates, on)
            ?? throw new InvalidOperationException("The story asks about a day before a signing."), known ?? now);

        TellFamily(Of);
        TellEvent<ContractEvent.InstrumentSwapped>("A swap: a damaged instrument is replaced the same day, and no figure moves.", Of);
        TellEvent<ContractEvent.InstrumentExchanged>("An exchange: another instrument, and the equity goes along.", Of);
        TellEvent<ContractEvent.Returned>("A return: what is owed stays, and nothing more falls due.", Of, after: 60);
        TellEvent<ContractEvent.BoughtEarly>("An early purchase: the payoff settles everything, and the instrument is theirs.", Of);

        Chapters.Begin($"The whole programme on {Today:uuuu-MM-dd}.", $"contracts portfolio --on {Today:uuuu-MM-dd}");
        AccountPrinter.Print(await PortfolioCommand.SumAsync(session.Store, Today, now, stop).ConfigureAwait(false), OutputFormat.Table);
        await new AfterTheYear(session).TellAsync(stop).ConfigureAwait(false);
        Say("");
        Say("Rent-to-own disclosure rules vary by state. Not legal, tax or accounting advice; ask local counsel.");
        Say("More to ask: the README has the commands.");
    }

    private void TellFamily(Func<ContractHistory, LocalDate, Instant?, Account> of)
    {
        if (histories.Find(history => history.Contract == Family) is not { } family) { return; }
        Chapters.Begin($"One account as of three dates: {Family}, the invented Osei-Lindell family.", $"contracts account {Family} --on 2026-12-07");
        PrintSideBySide(
            ("2026-12-07", of(family, new LocalDate(2026, 12, 7), null)),
            ("2027-03-01", of(family, new LocalDate(2027, 3, 1), null)),
            ("2027-05-20", of(family, new LocalDate(2027, 5, 20), null)));

        Chapters.Begin(
            "The same account on 2026-12-07, as known before and after a payment that was keyed late.",
            $"contracts account {Family} --on 2026-12-07 --known 2026-12-08T12:00:00Z");
        PrintSideBySide(
            ("known on 12-08", of(family, new LocalDate(2026, 12, 7), Instant.FromUtc(2026, 12, 8, 12, 0))),
            ("known on 12-10", of(family, new LocalDate(2026, 12, 7), Instant.FromUtc(2026, 12, 10, 12, 0))));
    }

    private void TellEvent<TEvent>(string heading, Func<ContractHistory, LocalDate, Instant?, Account> of, int after = 0)
        where TEvent : ContractEvent
    {
        foreach (var history in histories.OrderBy(history => history.Contract == Family ? 0 : 1))
        {
            var fact = history.Facts.FirstOrDefault(entry => entry.Event is TEvent);
            if (fact is null || history.Facts.Any(entry => entry.Event is ContractEvent.Reinstated)) { continue; }
            Chapters.Begin(heading, $"contracts account {history.Contract} --on {fact.Event.On:uuuu-MM-dd}");
            Say($"{history.Contract}, {fact.Event.On:uuuu-MM-dd}: {HistoryLine.Say(fact.Event)}");
            var views = new List<(string, Account)>
            {
                ("the day before", of(history, fact.Event.On.PlusDays(-1), null)),
                ("that day", of(history, fact.Event.On, null)),
            };
            if (after > 0) { views.Add(($"{after} days on", of(history, fact.Event.On.PlusDays(after), null))); }
            PrintSideBySide([.. views]);
            return;
        }
    }

    private int LateRecorded() => histories.Sum(history => history.Facts.Count(entry =>
        entry.At.InZone(Session.Zone).Date > entry.Event.On));

    internal static void PrintSideBySide(params ReadOnlySpan<(string Title, Account Account)> views)
    {
        var table = AccountPrinter.Plain().AddColumn("");
        foreach (var (title, _) in views) { table.AddColumn(new TableColumn(title).RightAligned()); }
        var accounts = new List<Account>();
        foreach (var (_, account) in views) { accounts.Add(account); }
        void Row(string name, Func<Account, string> of) => table.AddRow([name, .. accounts.Select(of)]);
        Row("status", account => account.Status);
        Row("instrument", account => $"{account.Kind} {account.Serial}");
        Row("equity", account => account.Equity.ToString());
        Row("remaining to own", account => account.RemainingToOwn.ToString());
        Row("past due", account => account.PastDue.ToString());
        Row("price to own today", account => $"{account.EarlyPurchase.Price}");
        Row("payoff with tax", account => account.EarlyPurchase.Payoff.ToString());
        Row("paid so far", account => account.Paid.Total.ToString());
        Row("next due", account => account.NextDue is { } next ? $"{next.Amount} on {next.On:uuuu-MM-dd}" : "nothing");
        AnsiConsole.Write(table);
    }

    private static void Say(string text) => Chapters.Say(text);
}
