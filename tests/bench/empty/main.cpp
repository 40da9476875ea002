// What starting any program costs: the floor of the benchmarks that start one.
int main() {
  return 0;
}
