using System.Text;
using Contracts.Agreements;
using Contracts.Commands;
using Contracts.Households;
using Contracts.Law;
using NodaTime;
using Xunit;

namespace Contracts.Tests.Households;

/// <summary>What may be kept of a family, and when it may be destroyed.</summary>
public sealed class HouseholdDeskTests
{
    private static readonly LocalDate Ended = new(2026, 6, 30);

    private static readonly Command.EraseHousehold Erase = new("H-1") { Origin = new CommandOrigin("k", "ada", "asked by the family") };

    // 4111... and 5500... are numbers that card networks publish for tests; from memory.
    [Theory]
    [InlineData("4111111111111111", true)]
    [InlineData("4111 1111 1111 1111", true)]
    [InlineData("4111-1111-1111-1111 exp 12/29", true)]
    [InlineData("5500.0000.0000.0004", true)]
    [InlineData("card ４１１１１１１１１１１１１１１１", true)]
    [InlineData("9 4111111111111111", true)]
    [InlineData("4111111111111112", false)]
    [InlineData("+1 802 555 0143", false)]
    [InlineData("12 Mill Lane, Wexmoor 05401-1234", false)]
    [InlineData("0000000000000000", false)]
    [InlineData("", false)]
    public void A_card_number_is_seen_however_it_is_spaced(string text, bool seen) =>
        Assert.Equal(seen, new PersonalFact("address", text).MayHoldCardNumber);

    [Fact]
    public void A_description_is_read_fact_by_fact_and_students_are_numbered()
    {
        var (read, refusal) = Read("""{"do":"describe-household","key":"k","household":"H-1","facts":{"name":"Ines Varga","phone":"555-0143"},"students":[{"name":"Pia","school":"Mill School"},{"name":"Jon","grade":"6"}]}""");
        Assert.Null(refusal);
        var told = Assert.IsType<Command.DescribeHousehold>(read!.Command);
        Assert.Equal(
            ["name=Ines Varga", "phone=555-0143", "student.1.name=Pia", "student.1.school=Mill School", "student.2.name=Jon", "student.2.grade=6"],
            told.Facts.Select(fact => $"{fact.Name}={fact.Value}"));
        Assert.Equal(4, told.Facts.Count(fact => fact.IsOfStudent));
    }

    [Theory]
    [InlineData("""{"do":"describe-household","key":"k","household":"H-1","facts":{}}""", RefusalCode.FieldMissing, "facts")]
    [InlineData("""{"do":"describe-household","key":"k","household":"H-1","facts":{"birthday":"2015-01-01"}}""", RefusalCode.FieldUnknown, "facts.birthday")]
    [InlineData("""{"do":"describe-household","key":"k","household":"H-1","facts":{"phone":"4111 1111 1111 1111"}}""", RefusalCode.PersonalFactRefused, "phone")]
    [InlineData("""{"do":"describe-household","key":"k","facts":{"name":"A"}}""", RefusalCode.FieldMissing, "household")]
    public void What_is_not_asked_for_is_not_taken(string line, RefusalCode code, string field)
    {
        var (_, refusal) = Read(line);
        Assert.Equal((code, field), (refusal!.Code, refusal.Field));
    }

    [Fact]
    public void An_erasure_needs_a_reason_and_something_to_erase()
    {
        Assert.Equal(RefusalCode.ReasonMissing, Fault(Known(), with: Erase with { Origin = new CommandOrigin("k", null, null) })!.Code);
        Assert.Equal(RefusalCode.HouseholdUnknown, Fault(HouseholdStanding.Unknown)!.Code);
        Assert.Equal(RefusalCode.HouseholdErased, Fault(Known() with { IsErased = true })!.Code);
        Assert.Null(Fault(Known()));
    }

    [Theory]
    [InlineData(true, false, false, RefusalCode.HouseholdInUse)]
    [InlineData(false, true, false, RefusalCode.HouseholdInUse)]
    [InlineData(false, false, true, RefusalCode.HouseholdInUse)]
    [InlineData(false, false, false, RefusalCode.HouseholdRetained)]
    public void A_contract_that_still_matters_keeps_its_household(bool runs, bool onHold, bool owes, RefusalCode code) =>
        Assert.Equal(code, Fault(Known(new KeptContract("C-1", runs, onHold, owes, Ended, null)))!.Code);

    [Theory]
    // 2026-06-30 and seven years: the shop's floor, longer than the two years of N.Y. Pers. Prop. Law § 503(1).
    [InlineData("NY", "2033-06-30", true)]
    [InlineData("NY", "2033-07-01", false)]
    [InlineData("", "2033-06-30", true)]
    [InlineData("", "2033-07-01", false)]
    public void Records_are_kept_through_the_longest_period(string state, string today, bool kept)
    {
        var refusal = Fault(Known(new KeptContract("C-1", false, false, false, Ended, LawBook.SuppliedFor(state))), NodaTime.Text.LocalDatePattern.Iso.Parse(today).Value);
        Assert.Equal(kept, refusal is not null);
        if (kept) { Assert.Equal("2033-07-01", refusal!.RightFigure); }
    }

    [Fact]
    public void An_act_that_asks_for_more_than_the_floor_is_named()
    {
        var pack = LawPackReader.Read(
            Encoding.UTF8.GetBytes(Encoding.UTF8.GetString(LawBook.SuppliedFor("MD")!.File.Span).Replace("3 years after", "11 years after", StringComparison.Ordinal)), "pack").Pack!;
        var refusal = Fault(Known(new KeptContract("C-1", false, false, false, Ended, pack)), new LocalDate(2037, 6, 30));
        Assert.Equal((RefusalCode.HouseholdRetained, "2037-07-01", "Md. Code, Com. Law § 12-1106.1"), (refusal!.Code, refusal.RightFigure, refusal.Citation));
        Assert.Null(Fault(Known(new KeptContract("C-1", false, false, false, Ended, pack)), new LocalDate(2037, 7, 1)));
    }

    private static (ReadCommand? Read, Refusal? Refusal) Read(string line) => CommandReader.Read(Encoding.UTF8.GetBytes(line));

    private static HouseholdStanding Known(params KeptContract[] contracts) => new(true, false, contracts);

    private static Refusal? Fault(HouseholdStanding standing, LocalDate? today = null, Command.EraseHousehold? with = null) =>
        HouseholdDesk.Fault(with ?? Erase, standing, today ?? new LocalDate(2026, 9, 1));
}
