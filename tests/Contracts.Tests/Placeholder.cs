namespace Contracts.Host.Tests;
public sealed class Placeholder { [Xunit.Fact] public void Builds() { } }
