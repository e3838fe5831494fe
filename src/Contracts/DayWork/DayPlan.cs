using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Calendars;
using Contracts.Disclosures;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Payments;
using NodaTime;

namespace Contracts.DayWork;

/// <summary>How far ahead, and how far back, a day looks; a shop's own choice (common practice, no source).</summary>
/// <param name="DueAhead">How many days before an installment its family is reminded.</param>
/// <param name="UnitAhead">How many days before a unit is due back.</param>
/// <param name="WindowAhead">How many days before the end of the time for a reinstatement.</param>
/// <param name="FinalAhead">How many days before the last payment its notice is made.</param>
/// <param name="DeliveryAfter">How many days after the day a delivery was expected somebody is asked about it, and every week from then on.</param>
/// <param name="NoticeBack">How many days after a late fee its notice is still made; older fees were somebody's before.</param>
public sealed record DayPlan(int DueAhead = 3, int UnitAhead = DueBack.UsualDaysBefore, int WindowAhead = 7, int FinalAhead = 21, int NoticeBack = 7, int DeliveryAfter = 3)
{
    /// <summary>How many days that were not looked at are made up for.</summary>
    public const int MadeUp = 7;

    /// <summary>A weekend and what may lie on both sides of it.</summary>
    private const int MostDaysOff = 5;

    private const int LongestQuiet = 60;

    /// <summary>What a day asks for about one account; nothing twice, since each reminder has its one day and each paper its one key.</summary>
    /// <param name="account">The account at the end of the day, as known now.</param>
    /// <param name="since">The last day that was looked at; what the days between asked for is asked for now, at most a week back.</param>
    /// <param name="calendar">Papers are made and people reminded on its business days: what falls on another day is asked for on the business day before it.</param>
    public ImmutableArray<DayTask> Of(AccountState account, LocalDate since, BusinessCalendar calendar)
    {
        since = LocalDate.Max(since, account.On.PlusDays(-MadeUp));
        if (!calendar.IsBusinessDay(account.On)) { return []; }
        var tasks = ImmutableArray.CreateBuilder<DayTask>();
        Reminders(account, since, calendar, tasks);
        Notices(account, tasks);
        return tasks.ToImmutable();
    }

    /// <summary>
    /// The last day through which nothing will be asked for as long as nothing is recorded: the account's own day where that cannot be told. Whoever goes through many days
    /// need not look at the account before the day after it.
    /// </summary>
    /// <param name="account">The account at the end of a day for which <see cref="Of"/> asked for nothing.</param>
    public LocalDate QuietThrough(AccountState account)
    {
        // What is past due may bring a fee on any day, and a fact dated ahead anything.
        if (account.PastDue != Money.Zero || account.History.Facts[^1].Event.On > account.On) { return account.On; }
        var first = account.On.PlusDays(LongestQuiet);
        if (Account.Of(account, default).NextDue is { } next)
        {
            first = LocalDate.Min(first, next.On.PlusDays(account.Schedule.Count == 1 ? -Math.Max(DueAhead, FinalAhead) : -DueAhead));
        }

        foreach (var unit in DueBack.Of(account)) { first = LocalDate.Min(first, unit.ReturnBy.PlusDays(-UnitAhead)); }
        if (account.Status == ContractStatus.Returned && LastReturn(account) is { } returned && Reinstatement.LastDay(account, returned).Last is var last && last >= account.On)
        {
            first = LocalDate.Min(first, last.PlusDays(-WindowAhead));
        }

        if (account.AwaitsDelivery && !account.HasEnded) { first = LocalDate.Min(first, Asking(account, account.On.PlusDays(1)).First()); }

        // What would be told on days that are none of business is told before them.
        return LocalDate.Max(account.On, first.PlusDays(-MostDaysOff - 1));
    }

    private void Reminders(AccountState account, LocalDate since, BusinessCalendar calendar, ImmutableArray<DayTask>.Builder tasks)
    {
        var contract = account.History.Contract;
        if (Account.Of(account, default).NextDue is { } next && IsDay(account.On, since, next.On, DueAhead, calendar))
        {
            tasks.Add(new DayTask(DayTaskKind.PaymentDue, contract, next.On, null, next.Amount));
        }

        foreach (var unit in DueBack.Of(account).Where(unit => IsDay(account.On, since, unit.ReturnBy, UnitAhead, calendar)))
        {
            tasks.Add(new DayTask(DayTaskKind.UnitDueBack, contract, unit.ReturnBy, unit.Serial, unit.Fee));
        }

        if (account.AwaitsDelivery && !account.HasEnded
            && Asking(account, since.PlusDays(1)).Select(day => Told(day, calendar)).TakeWhile(told => told <= account.On).Any(told => told > since))
        {
            tasks.Add(new DayTask(DayTaskKind.DeliveryUntold, contract, account.History.Signing.StartOn, account.Serial, null));
        }

        if (account.Status == ContractStatus.Returned && LastReturn(account) is { } returned)
        {
            var (last, _) = Reinstatement.LastDay(account, returned);
            if (IsDay(account.On, since, last, WindowAhead, calendar)) { tasks.Add(new DayTask(DayTaskKind.ReinstatementEnds, contract, last, null, null)); }
        }
    }

    /// <summary>The days on which somebody is asked about a delivery, from one on: a fixed number of days after it was expected, and each week after that.</summary>
    private IEnumerable<LocalDate> Asking(AccountState account, LocalDate from)
    {
        var day = account.History.Signing.StartOn.PlusDays(DeliveryAfter);
        while (day < from) { day = day.PlusWeeks(1); }
        for (; ; day = day.PlusWeeks(1)) { yield return day; }
    }

    private void Notices(AccountState account, ImmutableArray<DayTask>.Builder tasks)
    {
        // Whatever the hold is for, a machine demands nothing under it; a person may still issue what the ground does not forbid.
        if (account.HasEnded || account.Status == ContractStatus.OnHold) { return; }
        var contract = account.History.Contract;
        foreach (var fee in account.Charges.Where(charge => charge.Kind == ChargeKind.Late && charge.ReversedOn is null))
        {
            if (fee.DueOn > account.On || fee.DueOn.PlusDays(NoticeBack) < account.On || account.PastDue == Money.Zero) { continue; }
            AddOnce(account, tasks, new DayTask(DayTaskKind.DefaultNotice, contract, fee.DueOn, fee.Id, account.PastDue));
        }

        if (account.Schedule.Count == 1 && Account.Of(account, default).NextDue is { } last && last.On <= account.On.PlusDays(FinalAhead))
        {
            AddOnce(account, tasks, new DayTask(DayTaskKind.FinalPaymentNotice, contract, last.On, null, last.Amount));
        }
    }

    /// <summary>A paper that was made for the task is in the history under its key.</summary>
    private static void AddOnce(AccountState account, ImmutableArray<DayTask>.Builder tasks, DayTask task)
    {
        if (!account.History.Entries.Any(entry => entry.Key == task.Key)) { tasks.Add(task); }
    }

    private static LocalDate? LastReturn(AccountState account) =>
        account.History.Facts.LastOrDefault(fact => fact.Event is ContractEvent.Returned && fact.Event.On <= account.On && !account.IsOvertaken(fact.Sequence))?.Event.On;

    private static LocalDate Told(LocalDate day, BusinessCalendar calendar)
    {
        while (!calendar.IsBusinessDay(day)) { day = day.PlusDays(-1); }
        return day;
    }

    /// <summary>Whether a day is the one on which something ahead is told: so many days before it, or the last business day before that.</summary>
    private static bool IsDay(LocalDate today, LocalDate since, LocalDate about, int ahead, BusinessCalendar calendar)
    {
        var told = Told(about.PlusDays(-ahead), calendar);
        return told > since && told <= today && today <= about;
    }
}
