int main(void) {
    return 2;
}
