using Contracts.Bank;
using Contracts.Tests.Bank;
using CsCheck;
using Xunit;

namespace Contracts.Tests.Walks;

/// <summary>What holds of every statement, whatever is in it.</summary>
public sealed class BankWalkTests
{
    private static readonly string[] Texts = ["", "C-1", "rent C-2", "C-1 and C-3", "H-1", "H-2", "thank you", "T-9", "3", "=C-1"];
    private static readonly string?[] Codes = [null, null, "R01", "R10", "R29", "R77"];

    private static readonly Gen<BankEntry> Line =
        from cents in Gen.Long[0, 9000]
        from credit in Gen.Bool
        from text in Gen.Int[0, Texts.Length - 1].Select(index => Texts[index])
        from code in Gen.Int[0, Codes.Length - 1].Select(index => Codes[index])
        from reference in Gen.Int[0, 40]
        select BankLines.In(new Money(cents).ToString(), text, reference: reference == 0 ? null : $"R-{reference}") with { IsCredit = credit, ReturnCode = code };

    [Fact]
    public void Every_line_ends_in_exactly_one_of_three_whatever_stands_around_it() => Line.Array[0, 30].Sample(lines =>
    {
        var one = lines.Select(line => Text(Matching.Find(line, Book()))).ToList();
        // Another order of the lines finds the same for each of them.
        var turned = lines.Reverse().Select(line => Text(Matching.Find(line, Book()))).Reverse().ToList();
        Assert.Equal(one, turned);
        Assert.All(lines, line =>
        {
            var found = Matching.Find(line, Book());
            Assert.NotEmpty(found.Because);
            if (found is Finding.Matched { Body: Agreements.ContractCommand.Pay pay }) { Assert.Equal((line.Amount, true), (pay.Amount, line.IsCredit)); }
            if (found is Finding.Matched { Body: Agreements.ContractCommand.ReversePayment }) { Assert.False(line.IsCredit); }
            if (found is Finding.Arrived arrived) { Assert.Equal(line.Amount, arrived.Payments.Aggregate(Money.Zero, (sum, payment) => sum + payment.Amount)); }
            if (found is Finding.Matched) { Assert.True(line.IsRecognisable); }
        });
    });

    [Fact]
    public void A_statement_that_adds_up_is_taken_and_one_cent_more_is_not() => Gen.Select(Gen.Long[-100_000, 100_000], Line.Array[0, 30]).Sample((start, lines) =>
    {
        var total = new StatementTotal { Opening = new Money(start), SaidLines = lines.Length };
        foreach (var line in lines) { total.Add(line.Amount, line.IsCredit); }
        total.Closing = lines.Aggregate(new Money(start), (sum, line) => sum + line.Signed);
        Assert.Null(total.Fault("s"));
        total.Closing += new Money(1);
        Assert.Equal((total.Closing - new Money(1)).ToString(), total.Fault("s")!.RightFigure);
    });

    [Fact]
    public void Entries_that_are_not_booked_may_be_counted_in_what_the_file_says_and_change_no_balance()
    {
        var total = new StatementTotal { Opening = Money.Parse("10.00"), Closing = Money.Parse("15.00"), SaidLines = 2, SaidSum = Money.Parse("12.00") };
        total.Add(Money.Parse("5.00"), isCredit: true);
        Assert.NotNull(total.Fault("s"));
        total.AddNotBooked(Money.Parse("7.00"));
        Assert.Null(total.Fault("s"));
        (total.SaidLines, total.SaidSum) = (1, Money.Parse("5.00"));
        Assert.Null(total.Fault("s"));
        total.Closing = Money.Parse("22.00");
        Assert.NotNull(total.Fault("s"));
    }

    [Fact]
    public void A_line_has_the_same_name_in_every_file_and_another_one_in_another_account_day_or_amount() =>
        Gen.Select(Gen.String, Gen.String, Gen.Int[0, 700], Gen.Long[-100_000, 100_000]).Sample((account, reference, day, cents) =>
        {
            var (on, signed) = (BankLines.Day("2026-01-01").PlusDays(day), new Money(cents));
            var id = BankEntry.IdOf(account, reference, on, signed);
            Assert.Equal(id, BankEntry.IdOf(account, reference, on, signed));
            Assert.NotEqual(id, BankEntry.IdOf(account + "x", reference, on, signed));
            Assert.NotEqual(id, BankEntry.IdOf(account, reference, on.PlusDays(1), signed));
            Assert.NotEqual(id, BankEntry.IdOf(account, reference, on, signed + new Money(1)));
            Assert.Matches("^B-[0-9A-F]{20}$", id);
        });

    private static ShopBook Book() => BankLines.BookOf(
        BankLines.Standing("C-1", "H-1", payments: [BankLines.Payment("C-1", "k-1", "T-9"), BankLines.Payment("C-1", "k-4", "T-1", "5.00")]),
        BankLines.Standing("C-2", "H-2", pastDue: "20.00"), BankLines.Standing("C-3", "H-1", nextDue: "54.00"), BankLines.Standing("3", "H-3", nextDue: "30.00"));

    private static string Text(Finding found) => $"{found.GetType().Name} {found.Because} {(found as Finding.Matched)?.Contract} {(found as Finding.Matched)?.Body}";
}
