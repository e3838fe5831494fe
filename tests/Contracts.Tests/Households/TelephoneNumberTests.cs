using Contracts.Households;
using Xunit;

namespace Contracts.Tests.Households;

/// <summary>Telephone numbers as people write them (ITU-T E.164: at most 15 digits; country code 1 of the North American Numbering Plan). Invented numbers of the range for fiction.</summary>
public sealed class TelephoneNumberTests
{
    [Theory]
    [InlineData("(503) 555-0143", "5035550143")]
    [InlineData("+1 503.555.0143", "5035550143")]
    [InlineData("1-503-555-0143", "5035550143")]
    [InlineData(" 555 0143 ", "5550143")]
    [InlineData("+44 20 7946 0018", "442079460018")]
    [InlineData("123456789012345", "123456789012345")]
    [InlineData("1234567890123456", null)]
    [InlineData("555014", null)]
    [InlineData("C-1042", null)]
    [InlineData("555-0143x2", null)]
    [InlineData("", null)]
    public void Its_digits_are_compared_and_nothing_else_is_a_number(string text, string? digits) => Assert.Equal(digits, TelephoneNumber.Of(text));
}
