using System.Globalization;
using Contracts.Agreements;
using Contracts.Fleet;
using Contracts.History;
using Contracts.Instruments;
using Contracts.Tests.Support;
using CsCheck;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>What must hold of every fleet, whatever happens in it; <c>FleetLife.Generate(seed)</c> repeats one that fails.</summary>
public sealed class FleetWalkTests
{
    private static readonly long Lives = long.Parse(Environment.GetEnvironmentVariable("CONTRACTS_LIVES") ?? "500", CultureInfo.InvariantCulture) / 5;

    [Fact]
    public void A_unit_that_is_kept_is_never_on_two_contracts() => InEveryFleet((seed, life) =>
    {
        foreach (var serial in life.Shop.Kept)
        {
            for (var day = new LocalDate(2026, 7, 20); day <= life.Today.PlusDays(20); day = day.PlusDays(3))
            {
                // Asked of the accounts themselves, which know no unit's stream.
                if (day < life.Shop.Unit(serial).Acquisition!.On) { continue; }
                var holders = FleetLife.Contracts.Where(contract => life.Shop.Account(contract, day) is { Status: "signed" or "active" or "on-hold" or "owned" } account
                    && account.Serial == serial && TookAfterAcquisition(life, contract, serial)).ToList();
                // Later knowledge can show that a return had no effect, long after the unit went on: then two families have it, and history says so.
                if (holders.Any(contract => HasOvertaken(life, contract))) { continue; }
                Assert.True(holders.Count <= 1, $"{seed}: {serial} on {day} is on {string.Join(" and ", holders)}");
            }
        }
    });

    [Fact]
    public void No_unit_that_is_kept_goes_out_without_a_passed_inspection_since_it_came_in() => InEveryFleet((seed, life) =>
    {
        foreach (var serial in life.Shop.Kept)
        {
            var unit = life.Shop.Unit(serial);
            var story = Story(life, serial);
            foreach (var placed in unit.Entries.Where(entry => entry.Event is UnitEvent.Placed))
            {
                // What was known when it went out, by day: the last that says anything must be a passed inspection.
                var last = story.Where(step => step.Sequence < placed.Sequence && step.On <= placed.Event.On)
                    .OrderBy(step => step.On).ThenBy(step => step.Sequence).LastOrDefault();
                Assert.True(last.Ready, $"{seed}: {serial} went out on {placed.Event.On} to {((UnitEvent.Placed)placed.Event).Contract} without one");
            }
        }
    });

    [Fact]
    public void What_units_earned_is_what_families_paid() => InEveryFleet((seed, life) =>
    {
        foreach (var day in new[] { life.Today.PlusDays(-40), life.Today, life.Today.PlusDays(30) })
        {
            var lives = FleetLife.Units.Select(serial => life.Shop.UnitLife(serial, day)).OfType<UnitLife>().ToList();
            var accounts = FleetLife.Contracts.Select(contract => life.Shop.Account(contract, day)).OfType<Contracts.Disclosures.Account>().ToList();
            Assert.Equal((seed, Sum(accounts.Select(one => one.Paid.Rent))), (seed, Sum(lives.Select(one => one.Rent))));
            Assert.Equal((seed, Sum(accounts.Select(one => one.Paid.Purchase))), (seed, Sum(lives.Select(one => one.Sale - one.State.SoldFor))));
            Assert.All(lives, one => Assert.Equal((seed, one.Earned - one.Cost - one.Repair), (seed, one.Net)));
            Assert.All(lives, one => Assert.Equal(one.Rent, Sum(one.Uses.Select(use => use.Rent))));
        }
    });

    [Fact]
    public void The_fleet_is_never_placed_on_more_days_than_it_was_owned_and_the_months_count_every_use() => InEveryFleet((seed, life) =>
    {
        var (from, through) = (new LocalDate(2026, 8, 1), life.Today.PlusDays(10));
        var uses = FleetLife.Contracts.SelectMany(contract => UnitLife.UsesOf(life.Shop.History(contract), life.Shop.RatesAt(Instant.MaxValue), through)).ToList();
        var kept = life.Shop.Kept.Select(life.Shop.Unit).ToList();
        // The one that is not kept is on several contracts at once here, where no index keeps it from that.
        var report = FleetReport.Of(kept, uses.Where(use => use.Serial != FleetLife.Units[^1] && kept.Any(unit => unit.Serial == use.Serial && use.From >= unit.Acquisition!.On)), from, through);
        Assert.All(report.Kinds, kind => Assert.True(kind.DaysPlaced <= kind.DaysOwned && kind.Utilisation <= 10_000, $"{seed}: {kind}"));
        var all = FleetReport.Of(kept, uses, from, through);
        Assert.Equal((seed, uses.Count(use => use.From >= from)), (seed, all.Months.Sum(month => month.WentOut)));
        Assert.Equal((seed, uses.Count(use => use.BackOn >= from)), (seed, all.Months.Sum(month => month.CameBack)));
    });

    [Fact]
    public void Everything_that_can_happen_to_a_unit_happens_in_some_fleet()
    {
        var lives = Enumerable.Range(0, 60).Select(seed => FleetLife.Generate(seed)).ToList();
        string[] names = ["acquire-unit", "inspect-unit", "ship-unit", "send-to-repair", "finish-repair", "retire-unit", "sell-unit", "report-missing", "restore-unit",
            "sign", "swap", "exchange", "return", "reinstate", "receive-unit", "buy", "report-loss", "reverse-payment"];
        Assert.Empty(names.Except(lives.SelectMany(life => life.Accepted.Keys)));
        Assert.Contains(RefusalCode.UnitNotInspected, lives.SelectMany(life => life.Refusals));
        Assert.Contains(RefusalCode.InstrumentOnOpenContract, lives.SelectMany(life => life.Refusals));
    }

    private static void InEveryFleet(Action<int, FleetLife> holds) => Gen.Int[0, int.MaxValue].Sample(seed => holds(seed, FleetLife.Generate(seed)), iter: Lives);

    /// <summary>Whether the contract took the unit under the shop's keeping, or had it alone when it was acquired.</summary>
    private static bool TookAfterAcquisition(FleetLife life, string contract, string serial) => life.Shop.Unit(serial).Contracts.Contains(contract);

    /// <summary>What makes a unit fit to go out and what ends that, read off the events by themselves.</summary>
    private static List<(LocalDate On, long Sequence, bool Ready)> Story(FleetLife life, string serial)
    {
        var steps = new List<(LocalDate On, long Sequence, bool Ready)>();
        foreach (var entry in life.Shop.Unit(serial).Entries)
        {
            switch (entry.Event)
            {
                case UnitEvent.Acquired or UnitEvent.Repaired or UnitEvent.Restored or UnitEvent.SentToRepair: steps.Add((entry.Event.On, entry.Sequence, false)); break;
                case UnitEvent.Inspected e: steps.Add((e.On, entry.Sequence, e.Passed)); break;
                default: break;
            }
        }

        foreach (var contract in life.Shop.Unit(serial).Contracts)
        {
            var (had, isLost, isFound) = ("", false, false);
            foreach (var fact in life.Shop.History(contract).Facts)
            {
                // A lost one that is found comes in when it is brought, and not once more when its contract ends (seed 904156156).
                var brought = fact.Event is ContractEvent.UnitReceived received && received.Serial == serial && had == serial && isLost && !isFound;
                if (Placing.SerialIn(fact.Event) is not null || fact.Event is ContractEvent.Reinstated) { (isLost, isFound) = (false, false); }
                (isLost, isFound) = (isLost || fact.Event is ContractEvent.LossReported, isFound || brought);
                var (before, now) = (had, fact.Event switch
                {
                    ContractEvent.Signed e => e.Instrument.Serial,
                    ContractEvent.InstrumentSwapped e => e.Serial,
                    ContractEvent.InstrumentExchanged e => e.Instrument.Serial,
                    ContractEvent.Reinstated { Serial: { } other } => other,
                    _ => had,
                });
                had = now;
                var ended = fact.Event is ContractEvent.Returned || (fact.Event is ContractEvent.InstrumentExchanged && now != serial);
                if (brought || (ended && before == serial && !isFound)) { steps.Add((fact.Event.On, fact.Sequence, false)); }
            }
        }

        return steps;
    }

    private static bool HasOvertaken(FleetLife life, string contract)
    {
        var history = life.Shop.History(contract);
        var state = AccountFold.At(history, life.Shop.RatesAt(Instant.MaxValue), LocalDate.Max(life.Today, history.Facts[^1].Event.On))!;
        return history.Facts.Any(fact => state.IsOvertaken(fact.Sequence));
    }

    private static Money Sum(IEnumerable<Money> amounts) => amounts.Aggregate(Money.Zero, (sum, one) => sum + one);
}
