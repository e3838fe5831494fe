using System.Runtime.CompilerServices;
using System.Text;
using Contracts.Agreements;
using Contracts.Bank;
using Contracts.Instruments;
using Contracts.Store;
using Contracts.Store.Bank;
using Contracts.Store.Books;
using Contracts.Store.Json;
using Contracts.Store.Proposals;
using Contracts.Store.Quotes;
using Contracts.Store.Vault;
using Contracts.Terms;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Storing;

/// <summary>
/// One file for each version of each event ever written, under fixtures/events. Every build reads all of them and
/// writes today's events to the byte; a file is never changed, a new version gets a file beside it.
/// </summary>
public sealed class FrozenEventTests
{
    private static readonly LineKept Kept = new(
        "B-0", new string('a', 64), "line 3", new LocalDate(2026, 9, 18), new LocalDate(2026, 9, 19), Money.Parse("20.00"), true, "card", "R-1", "R01", Money.Parse("21.00"), Money.Parse("1.00"), new string('b', 64));

    private static readonly LocalDate Day = new(2026, 9, 5);

    private static readonly ContractTerms Terms = new(
        new Money(119500), new Money(119500), new IntroductoryPeriod(2, new Money(4500)), new Money(3800), Rate.Parse("0.85"),
        [new EarlyPurchaseTier(3, Rate.Parse("0.40")), new EarlyPurchaseTier(null, Rate.Parse("0.25"))],
        new ProtectionPlan(new Money(700), true), new LateFeeTerms(new Money(500), 7), new Money(2000));

    private static readonly Instrument Clarinet = new("clarinet", "HC-0417", "new", new Money(41200));

    /// <summary>Today's version of every event, with every field filled.</summary>
    private static readonly object[] Samples =
    [
        new ContractEvent.Signed("H-1", Clarinet, "NY", "wexmoor", Day, Terms, [new Accessory("stand", new Money(2490))], true) { On = Day },
        new ContractEvent.PaymentReceived(new Money(3800), "card", "R-1") { On = Day },
        new ContractEvent.PaymentReversed("key-1", "R01") { On = Day },
        new ContractEvent.RefundIssued(new Money(100)) { On = Day },
        new ContractEvent.CreditGiven(new Money(1500)) { On = Day },
        new ContractEvent.PlanElected { On = Day },
        new ContractEvent.PlanCancelled { On = Day },
        new ContractEvent.InstrumentSwapped("HC-0417", "HC-0533", Day.PlusDays(14), new Money(66720)) { On = Day },
        new ContractEvent.UnitReceived("HC-0417") { On = Day },
        new ContractEvent.InstrumentExchanged(Clarinet, Terms with { Plan = null }, []) { On = Day },
        new ContractEvent.Returned("good") { On = Day },
        new ContractEvent.BoughtEarly(new Money(72058), "card", "R-2", new Money(66720), "terms", new Money(5338)) { On = Day },
        new ContractEvent.FeeWaived("late:2026-09-05") { On = Day },
        new ContractEvent.Moved("HI", "quay") { On = Day },
        new ContractEvent.LossReported("stolen", new Money(66720)) { On = Day },
        new ContractEvent.Held { On = Day },
        new ContractEvent.Released { On = Day },
        new ContractEvent.Reinstated("HC-0600") { On = Day },
        new ContractEvent.SteppedUp(Rate.Parse("0.75"), "a better clarinet", new Money(298000), new Money(6225)) { On = Day },
        new ContractEvent.WrittenOff(new Money(4000)) { On = Day },
        new ContractEvent.Recovered(new Money(1500)) { On = Day },
        new ContractEvent.InstallmentCharged(new Money(304), new Money(3800), new Money(700)) { On = Day },
        new ContractEvent.InstallmentReversed(new Money(304), new Money(3800), new Money(700)) { On = Day },
        new ContractEvent.FeeCharged("late:2026-09-05", new Money(500), new Money(40)) { On = Day },
        new ContractEvent.FeeReversed("late:2026-09-05", new Money(500), new Money(40)) { On = Day },
        new ContractEvent.OwnershipTransferred("schedule") { On = Day },
        new ContractEvent.DocumentIssued(
            "receipt", "key-1", Instant.FromUtc(2026, 9, 5, 14, 0), 912, "receipt.1", new string('a', 64), "text/html; charset=utf-8",
            new string('b', 64), new string('c', 64), new string('d', 64), "0.1.0", "NY.1") { On = Day },
        new CalendarSet("harbour-street", "2026-09"),
        new ChangeProposed("P-1", "C-1", """{"do":"waive","contract":"C-1","on":"2026-11-02","fee":"fee/late/1"}"""),
        new ChangeApproved("P-1"),
        new ChangeDeclined("P-1"),
        new ContractEvent.DamageReported("HC-0417", "a dent in the bell", false, new Money(6000)) { On = Day },
        new ContractEvent.MerchandiseCreditSpent(new Money(1500), "a music stand", new Money(4000)) { On = Day },
        new ContractEvent.InstrumentDelivered(Day) { On = Day },
        new ContractEvent.LabelIssued("HC-0417", "post", "RL-1") { On = Day },
        new ContractEvent.DisputeOpened("D-1", "payment", "paid in time (invented)", "key-1") { On = Day },
        new ContractEvent.DisputePaperAttached("D-1", "the bank's statement", new string('a', 64)) { On = Day },
        new ContractEvent.DisputeAnswered("D-1", "upheld", "it is on the account now") { On = Day },
        new ContractEvent.DisputeClosed("D-1", "settled") { On = Day },
        new UnitEvent.Acquired("clarinet", "new", new Money(41200), "Invented Woodwinds") { On = Day },
        new UnitEvent.Inspected("band-and-orchestra.1", [new InspectedItem("pads", "put-right", "two pads"), new InspectedItem("tuning", "good")], "Ana Invented", true) { On = Day },
        new UnitEvent.Graded("B") { On = Day },
        new UnitEvent.Placed("C-1") { On = Day },
        new UnitEvent.Shipped("C-1", "post", "PK-7") { On = Day },
        new UnitEvent.Delivered { On = Day },
        new UnitEvent.SentToRepair("a cracked barrel", new Money(4500)) { On = Day },
        new UnitEvent.Repaired(new Money(3850)) { On = Day },
        new UnitEvent.Retired { On = Day },
        new UnitEvent.Sold(new Money(15000)) { On = Day },
        new UnitEvent.Missing { On = Day },
        new UnitEvent.Restored { On = Day },
        new MoneyFileReceived(new string('a', 64), "june.xml", "camt.053.001.08", [new StatementCounted("S-1", "4821", Money.Parse("100.00"), Money.Parse("80.00"), 2, Money.Parse("20.00"), Money.Parse("40.00"))]),
        new EntryMatched(Kept, "C-1", ["bank:B-0"], "names C-1", "ask the bank"),
        new EntryProposed(Kept, [new Candidate("C-1", "k-1", "owes 20.00")], "several contracts are named"),
        new EntryUnmatched(Kept, "names nothing"),
        new EntrySettled("B-0", [new EntryShare("C-1", Money.Parse("20.00"))], null, null),
        new EntrySetAside("B-0"),
        new LawPackAdopted("OR", 2, "00", "Read by counsel (invented).", "{}"),
        new DepreciationPosted("2026-09", new Money(31837), new Money(549), 43),
        new QuoteGiven(
            "Q-1", Day, "H-1", Clarinet, "NY", "wexmoor", Day.PlusDays(10), Terms, [new Accessory("stand", new Money(2490))], true, Day.PlusDays(14),
            new string('b', 64), 1),
        new HouseholdPaid("H-1", new LocalDate(2026, 9, 7), Money.Parse("55.20"), "check", "R-7", [new EntryShare("C-1", Money.Parse("30.00")), new EntryShare("C-2", Money.Parse("25.20"))]),
        new HouseholdDescribed("H-1", ["0XtZBlCHYWwVYbXVEQO2h8SGlT6mGXbUzHyTdUU9xeo", "9yoJk7q2h7m6o0wXbCw0Gd6s1mS2lDXgqkq2p6iGfKA"]),
        new HouseholdErased("H-1"),
        new PeriodClosed("2026-09", 912, new string('a', 64), "Rental programme", "{}"),
        TaxRateSet.Of("wexmoor", new TaxEntry(Day, Rate.Parse("0.08875"), new TaxedParts(true, false, true, true))),
    ];

    /// <summary>Events that have gained fields, with those filled: what they were before is written as it always was.</summary>
    private static readonly (int Version, object Sample)[] Later =
    [
        (2, new ContractEvent.Signed("H-1", Clarinet, "NY", "wexmoor", Day, Terms, [new Accessory("stand", new Money(2490))], true, "harbour-street") { On = Day }),
        (3, new ContractEvent.Signed("H-1", Clarinet, "NY", "wexmoor", Day, Terms, [], false, null, "Q-1") { On = Day }),
        (4, new ContractEvent.Signed(
            "H-1", Clarinet with { RetailValue = new Money(90000), EarlierRents = new Money(12000), SchoolUse = true }, "VT", "wexmoor", Day, Terms, [], false, LawPack: "VT.1") { On = Day }),
        (5, new ContractEvent.Signed(
            "H-1", Clarinet with { Location = "4 Quarry Lane, Wexmoor" }, "ND", "wexmoor", Day, Terms, [], false, LawPack: "ND.1") { On = Day }),
        (6, new ContractEvent.Signed("H-1", Clarinet, "NY", "wexmoor", Day, Terms, [], false) { On = Day, StartsAtDelivery = true }),
        (2, new ContractEvent.LossReported("lost", new Money(41999), new Money(41999), "Haw. Rev. Stat. § 481M-14(a)(3)") { On = Day }),
        (2, new ContractEvent.InstrumentSwapped("HC-0417", "HC-0422", Day.PlusDays(14), new Money(60000), "9 V.S.A. § 41b(g)(7)") { On = Day }),
        (3, new ContractEvent.InstrumentSwapped("HC-0417", "HC-0422", Day.PlusDays(14), new Money(60000), null, "key-1") { On = Day }),
        (2, new ContractEvent.Held("bankruptcy") { On = Day }),
        (2, new EntrySettled("B-1", [new EntryShare("C-1", Money.Parse("20.00"))], "k-1", "R01")),
        (2, new ContractEvent.Moved("HI", "quay", "HI.1") { On = Day }),
        (2, new ContractEvent.InstrumentExchanged(Clarinet, Terms, [], "Va. Code § 59.1-207.25") { On = Day }),
        (2, new QuoteGiven("Q-1", Day, "H-1", null, "HI", "wexmoor", Day, Terms, [], false, Day, new string('b', 64), 1, "HI.1")),
        (3, new QuoteGiven("Q-1", Day, "H-1", null, "HI", "wexmoor", Day, Terms, [], false, Day, new string('b', 64), 1) { StartsAtDelivery = true }),
        (2, TaxRateSet.Of("wexmoor", new TaxEntry(
            Day, Rate.Parse("0.0825"), new TaxedParts(true, false, true, true), TaxRegime.WholePriceAtDelivery,
            [new TaxPart("the state", Rate.Parse("0.0625")), new TaxPart("Wexmoor County", Rate.Parse("0.02"))]))),
        (2, new PeriodClosed("2026-09", 912, new string('a', 64), "Rental programme", "{}", 2)),
    ];

    [Fact]
    public void Every_event_has_a_sample_and_a_file() =>
        Assert.Equal(
            EventNames.All.Select(pair => pair.Name).Order(StringComparer.Ordinal),
            Samples.Select(sample => EventNames.Of(sample.GetType())).Order(StringComparer.Ordinal)
                .Where(name => File.Exists(Path.Combine(Folder(), $"{name}.1.json"))));

    [Fact]
    public void Every_version_ever_written_is_read_and_todays_is_written_to_the_byte()
    {
        foreach (var (version, sample) in Samples.Select(sample => (1, sample)).Concat(Later))
        {
            var name = EventNames.Of(sample.GetType());
            var file = Path.Combine(Folder(), $"{name}.{version}.json");
            if (Environment.GetEnvironmentVariable("CONTRACTS_FREEZE") is { Length: > 0 } && !File.Exists(file))
            {
                File.WriteAllBytes(file, [.. EventJson.Write(sample), (byte)'\n']);
            }

            var frozen = File.ReadAllText(file).TrimEnd('\n');
            Assert.Equal(frozen, Encoding.UTF8.GetString(EventJson.Write(sample)));
            var read = EventJson.Read(Encoding.UTF8.GetBytes(name), Encoding.UTF8.GetBytes(frozen));
            Assert.Equal(sample.GetType(), read.GetType());
            Assert.Equal(frozen, Encoding.UTF8.GetString(EventJson.Write(read)));
        }
    }

    private static TaxRateSet LaterRate => Later.Select(later => later.Sample).OfType<TaxRateSet>().Last();

    [Fact]
    public void A_tax_rate_reads_back_as_the_entry_it_was_made_from()
    {
        var entry = LaterRate.AddTo(ReferenceData.None).On("wexmoor", Day);
        var read = (TaxRateSet)EventJson.Read("tax_rate_set"u8, EventJson.Write(LaterRate));
        var again = read.AddTo(ReferenceData.None).On("wexmoor", Day);
        Assert.Equal(entry with { Parts = again.Parts }, again);
        Assert.Equal(entry.Parts, again.Parts.AsEnumerable());
        var old = ((TaxRateSet)Samples[^1]).AddTo(ReferenceData.None).On("wexmoor", Day);
        Assert.Equal((TaxRegime.EachPayment, 0), (old.Regime, old.Parts.Length));
    }

    [Fact]
    public void An_event_under_an_unknown_name_stops_the_reader() =>
        Assert.Throws<StoreException>(() => EventJson.Read("never_written"u8, "{}"u8));

    private static string Folder([CallerFilePath] string here = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(here)!, "..", "..", "..", "fixtures", "events"));
}
